import { ReportError } from "../fault.ts";
import type { SiteRecord } from "../records/types.ts";
import type { Comparison, TrainResults } from "../report/results.ts";
import { checkNames } from "./check-names.ts";
import { checkSite } from "./check-site.ts";
import { cleanTexts } from "./clean-text.ts";
import { makeIndexPage } from "./index-page.ts";
import { dropPartial, exchangeFolders, openPartial } from "./output-folder.ts";
import { renderPages } from "./render-pages.ts";
import { hashTrain, listReusable, readSiteKeys, reuseTrain, writeSiteKeys } from "./reuse-pages.ts";
import { hashSiteCode } from "./template-files.ts";
import type { TrainPage } from "./train-page.ts";
import { writeSiteFiles } from "./write-site-files.ts";
import { writeTrain } from "./write-train.ts";

export interface SiteTrain {
  results: TrainResults;
  /** Absolute folder of each test, by its id: the one that `spokes.crops[].file` is relative to. */
  cropDirs: Readonly<Record<string, string>>;
}

export interface SiteRequest {
  trains: readonly SiteTrain[];
  /** Each gets a page of its own. */
  comparisons?: readonly Comparison[];
  site: SiteRecord;
  outDir: string;
  /** Told one line per finished step. */
  onStep?: (line: string) => void;
}

export interface SiteReport {
  pages: number;
  /** Trains whose pages were taken over unchanged from the site that stood there. */
  reused: number;
}

/** Pages in one run of Eleventy: it keeps every page of a run in memory (chosen: 50 pages of 0.5 MB, held twice, against compiling the templates anew for each run). */
const batchSize = 50;

/**
 * Writes the whole static site: into a folder beside `outDir` first, then checked, then put in its place, so that a
 * build that fails or is interrupted leaves the previous site as it was. The same input gives the same bytes.
 *
 * @throws ReportError `site/foreign-folder` when `outDir` holds something else; `site/unsafe-name`, `site/same-name`;
 *   `site/dead-link` and the like from the check of the built pages, all together.
 */
export async function buildSite(request: SiteRequest): Promise<SiteReport> {
  const { outDir, onStep = () => {} } = request;
  const trains = request.trains.map((train) => ({ ...train, results: cleanTexts(train.results) }));
  const site = cleanTexts(request.site);
  const faults = checkNames(trains.map(({ results }) => results));
  if (faults.length > 0) throw new ReportError(faults);
  const partial = await openPartial(outDir);
  try {
    const report = await writeSite({ trains, site, outDir, onStep }, partial);
    await exchangeFolders(outDir);
    return report;
  } catch (error) {
    await dropPartial(outDir);
    throw error;
  }
}

async function writeSite(
  request: Required<Omit<SiteRequest, "comparisons">>,
  partial: string,
): Promise<SiteReport> {
  const { trains, site, outDir, onStep } = request;
  const index = makeIndexPage(
    trains.map(({ results }) => results),
    site,
  );
  await writeSiteFiles(
    trains.map(({ results }) => results),
    index,
    partial,
  );
  const code = hashSiteCode();
  const keys = new Map<string, string>();
  for (const train of trains) keys.set(train.results.id, await hashTrain(train, site, code));
  const reusable = await listReusable(keys, await readSiteKeys(outDir), outDir);
  for (const id of reusable) await reuseTrain(outDir, partial, id);
  if (reusable.size > 0) onStep(`${reusable.size} ${reusable.size === 1 ? "page" : "pages"} unchanged`);

  const changed = trains.filter(({ results }) => !reusable.has(results.id));
  let first = true;
  for (let at = 0; first || at < changed.length; at += batchSize) {
    const batch = changed.slice(at, at + batchSize);
    const pages = new Map<string, TrainPage>();
    for (const train of batch) pages.set(train.results.id, await writeTrain(train, site, partial));
    await renderPages({ siteTitle: index.title, index: first ? index : null, trains: pages }, partial);
    first = false;
    if (batch.length > 0)
      onStep(`pages written: ${Math.min(at + batchSize, changed.length)} of ${changed.length}`);
  }
  const found = await checkSite(partial, new Set(changed.map(({ results }) => `trains/${results.id}`)));
  if (found.length > 0) throw new ReportError(found);
  await writeSiteKeys(partial, keys);
  return { pages: trains.length + 2, reused: reusable.size };
}
