import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { SiteRecord } from "../../records/types.ts";
import { comparisonSchema, indexSchema, resultsSchema } from "../../report/results-schema.ts";
import { escapeJson } from "../escape-text.ts";
import type { TrainSummary } from "../train-summary.ts";
import { makeAtomFeed } from "./atom-feed.ts";
import { makeRobots, makeSitemap } from "./sitemap.ts";

/** What the files for programs hold, by the names under which it is published. */
const schemas = { results: resultsSchema, comparison: comparisonSchema, index: indexSchema };

/**
 * The files by which a site is found: feed, map for search engines, schemas of its data, and the words that its own search looks through.
 * `folders`: pages beside those of the trains.
 */
export function writePublication(
  summaries: readonly TrainSummary[],
  site: SiteRecord,
  folders: readonly string[],
  outDir: string,
): void {
  writeFileSync(join(outDir, "feed.xml"), makeAtomFeed(summaries, site));
  const map = makeSitemap(summaries, site, folders);
  if (map !== null) writeFileSync(join(outDir, "sitemap.xml"), map);
  const robots = makeRobots(site);
  if (robots !== null) writeFileSync(join(outDir, "robots.txt"), robots);
  writeFileSync(join(outDir, "assets", "search-data.js"), makeSearchData(summaries));
  mkdirSync(join(outDir, "schema"), { recursive: true });
  for (const [name, schema] of Object.entries(schemas))
    writeFileSync(join(outDir, "schema", `${name}.schema.json`), `${JSON.stringify(schema, null, 1)}\n`);
}

/** A script, and no plain JSON: pages opened from disk may load scripts alone. */
export function makeSearchData(summaries: readonly TrainSummary[]): string {
  const trains = summaries
    .filter(({ isDraft }) => !isDraft)
    .map(({ id, name, search }) => ({ name, href: `trains/${id}/index.html`, ...search }));
  return `window.rigReportSearch=${escapeJson(trains)};\n`;
}
