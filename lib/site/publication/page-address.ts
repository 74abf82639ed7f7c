import type { SiteRecord } from "../../records/types.ts";

/** The site's own address without a slash at its end; null where the record names none that readers could open. */
export function findSiteAddress(site: SiteRecord): string | null {
  return /^https?:\/\//i.test(site.baseUrl) ? site.baseUrl.replace(/\/+$/, "") : null;
}

/** Folder of the site in which a report has its own. */
export type ReportKind = "trains" | "comparisons";

/** Address of a report's page; null where the site has none. */
export function joinReportAddress(site: SiteRecord, kind: ReportKind, id: string): string | null {
  const base = findSiteAddress(site);
  return base === null ? null : `${base}/${kind}/${id}/`;
}

/** Address of a train's page; null where the site has none. */
export function joinTrainAddress(site: SiteRecord, id: string): string | null {
  return joinReportAddress(site, "trains", id);
}
