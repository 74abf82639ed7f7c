import { escapeText } from "../../draw/svg.ts";
import type { SiteRecord } from "../../records/types.ts";
import type { TrainSummary } from "../train-summary.ts";
import { findSiteAddress } from "./page-address.ts";

/**
 * The list of pages for search engines (sitemaps.org, protocol 0.9); null without a site address, as it takes whole
 * addresses. A page's time is that of its last test. Drafts are left out. `folders`: further pages by their folders.
 */
export function makeSitemap(
  summaries: readonly TrainSummary[],
  site: SiteRecord,
  folders: readonly string[],
): string | null {
  const base = findSiteAddress(site);
  if (base === null) return null;
  const pages = [
    ...["", ...folders].map((folder) => ({ folder, date: null })),
    ...summaries
      .filter(({ isDraft }) => !isDraft)
      .map(({ id, lastTest }) => ({ folder: `trains/${id}/`, date: lastTest })),
  ];
  const lines = pages.map(({ folder, date }) => {
    const time = date === null ? "" : `<lastmod>${escapeText(date)}</lastmod>`;
    return `<url><loc>${escapeText(`${base}/${folder}`)}</loc>${time}</url>`;
  });
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9">',
    ...lines,
    "</urlset>",
    "",
  ].join("\n");
}

/**
 * Leave for search engines and the place of the map (RFC 9309; the sitemap line is of sitemaps.org). It counts at the
 * root of a host alone: null where the site has no address or lies in a folder below.
 */
export function makeRobots(site: SiteRecord): string | null {
  const base = findSiteAddress(site);
  if (base === null || new URL(base).pathname !== "/") return null;
  return `User-agent: *\nAllow: /\nSitemap: ${base}/sitemap.xml\n`;
}
