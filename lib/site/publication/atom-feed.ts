import { createHash } from "node:crypto";
import { escapeText } from "../../draw/svg.ts";
import type { SiteRecord } from "../../records/types.ts";
import { nameSite } from "../index-page.ts";
import type { TrainSummary } from "../train-summary.ts";
import { findSiteAddress } from "./page-address.ts";

/** Entries of a feed: a reader that comes once a month misses nothing of a busy club. */
const mostEntries = 50;

/** The namespace for names of pages (RFC 9562, table 3). */
const pageNamespace = Buffer.from("6ba7b8119dad11d180b400c04fd430c8", "hex");

/**
 * A name-based UUID, version 5 (RFC 9562, 5.5): the same name gives the same one for ever, wherever the pages lie, so
 * that a feed reader does not show everything again when a site has moved.
 */
export function makeNameUuid(name: string): string {
  const bytes = createHash("sha1").update(pageNamespace).update(name, "utf8").digest().subarray(0, 16);
  bytes[6] = (bytes[6] & 0x0f) | 0x50;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = bytes.toString("hex");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** Noon, as the evening's date is all that is known. */
const makeTime = (date: string) => `${date}T12:00:00Z`;

/**
 * The site's feed (Atom, RFC 4287): an entry for each train that has a test, newest test first. Times are those of the
 * tests, so that the same records give the same bytes. Drafts are left out. Without a site address links are relative
 * to the feed.
 */
export function makeAtomFeed(summaries: readonly TrainSummary[], site: SiteRecord): string {
  const base = findSiteAddress(site);
  const listed = summaries
    .filter(
      (summary): summary is TrainSummary & { lastTest: string } =>
        !summary.isDraft && summary.lastTest !== null,
    )
    .sort((a, b) => (a.lastTest === b.lastTest ? (a.id < b.id ? -1 : 1) : a.lastTest < b.lastTest ? 1 : -1))
    .slice(0, mostEntries);
  const author = site.author || site.club || nameSite(site);
  const line = (name: string, text: string) => `<${name}>${escapeText(text)}</${name}>`;
  const entries = listed.map((summary) =>
    [
      "<entry>",
      line("title", summary.name),
      line("id", `urn:uuid:${makeNameUuid(`${nameSite(site)} ${summary.id}`)}`),
      line("updated", makeTime(summary.lastTest)),
      `<link rel="alternate" type="text/html" href="${escapeText(joinLink(base, `trains/${summary.id}/index.html`))}"/>`,
      line("summary", [summary.description, ...summary.findings.slice(0, 3)].join(" ")),
      "</entry>",
    ].join("\n"),
  );
  return [
    '<?xml version="1.0" encoding="utf-8"?>',
    `<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="${escapeText(site.language)}">`,
    line("title", nameSite(site)),
    line("id", `urn:uuid:${makeNameUuid(nameSite(site))}`),
    // A feed must carry a time; one without entries has none of its own.
    line("updated", makeTime(listed[0]?.lastTest ?? "1970-01-01")),
    `<author>${line("name", author)}</author>`,
    `<link rel="self" type="application/atom+xml" href="${escapeText(joinLink(base, "feed.xml"))}"/>`,
    `<link rel="alternate" type="text/html" href="${escapeText(joinLink(base, "index.html"))}"/>`,
    ...entries,
    "</feed>",
    "",
  ].join("\n");
}

function joinLink(base: string | null, path: string): string {
  return base === null ? path : `${base}/${path.replace(/(^|\/)index\.html$/, "$1")}`;
}
