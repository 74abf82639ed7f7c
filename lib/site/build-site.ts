import { type Fault, ReportError } from "../fault.ts";
import type { SiteRecord } from "../records/types.ts";
import type { Comparison } from "../report/results.ts";
import { checkNames } from "./check-names.ts";
import { checkSite, type KeptFolders, rootFolders } from "./check-site.ts";
import { cleanTexts } from "./clean-text.ts";
import type { ComparisonPage } from "./comparison-page.ts";
import { hashTrain } from "./hash-train.ts";
import { makeIndexPage } from "./index-page.ts";
import { makeTrains, type SiteTrain } from "./make-trains.ts";
import { dropPartial, exchangeFolders, openPartial } from "./output-folder.ts";
import { writePublication } from "./publication/write-publication.ts";
import { writeSingleFiles } from "./publication/write-single-files.ts";
import { renderPages } from "./render-pages.ts";
import { readSiteState, type StandingTrain, writeSiteState } from "./site-state.ts";
import { hashSiteCode } from "./template-files.ts";
import type { TrainSummary } from "./train-summary.ts";
import { writeComparison } from "./write-comparison.ts";
import { writeSiteFiles } from "./write-site-files.ts";

export type { SiteTrain } from "./make-trains.ts";

export interface SiteRequest {
  trains: readonly SiteTrain[];
  /** Each gets a page of its own. */
  comparisons?: readonly Comparison[];
  site: SiteRecord;
  outDir: string;
  /** Told one line per finished step. */
  onStep?: (line: string) => void;
}

/** A site of which nothing has been read yet but what tells whether a train's folder is to be made again. */
export interface SitePlan {
  /** In the order of the index. Equal keys: everything that the train's folder is made from is the same. */
  trains: readonly { id: string; tests: readonly { id: string }[]; key: string }[];
  comparisons: readonly Comparison[];
  site: SiteRecord;
  outDir: string;
  onStep: (line: string) => void;
  /** Makes the folders of these trains below `into`/trains and says what lists need of them, in the same order. */
  makeTrains: (ids: readonly string[], into: string) => Promise<readonly TrainSummary[]>;
  /** Reports as one file only say that a full build makes them. */
  quick?: boolean;
  /** Looks the written pages of these folders through; left out: here, one after the other. */
  checkPages?: CheckPages;
}

export type CheckPages = (
  root: string,
  folders: readonly string[],
  kept: KeptFolders,
) => readonly Fault[] | Promise<readonly Fault[]>;

export interface SiteReport {
  pages: number;
  /** Trains whose pages were taken over unchanged from the site that stood there. */
  reused: number;
}

/**
 * Writes the whole static site from results in memory; see `buildPlanned`.
 *
 * @throws ReportError as `buildPlanned`
 */
export async function buildSite(request: SiteRequest): Promise<SiteReport> {
  const { trains, site, outDir, comparisons = [], onStep = () => {} } = request;
  const code = hashSiteCode();
  const byId = new Map(trains.map((train) => [train.results.id, train]));
  const planned: SitePlan["trains"][number][] = [];
  for (const train of trains) {
    const { id, tests } = train.results;
    planned.push({ id, tests, key: await hashTrain(train, site, code) });
  }
  const load = async (id: string) => byId.get(id) as SiteTrain;
  return buildPlanned({
    trains: planned,
    comparisons,
    site,
    outDir,
    onStep,
    makeTrains: (ids, into) => makeTrains(ids, load, cleanTexts(site), into),
  });
}

/**
 * Writes what is new of a static site: into a folder beside `outDir` first, then checked, then put in its place, so that a
 * build that fails or is interrupted leaves the previous site as it was. Trains whose key is that of the standing site
 * are neither read nor written. The same input gives the same bytes.
 *
 * @throws ReportError `site/foreign-folder` when `outDir` holds something else; `site/unsafe-name`, `site/same-name`;
 *   `site/dead-link` and the like from the check of the built pages, all together.
 */
export async function buildPlanned(plan: SitePlan): Promise<SiteReport> {
  const faults = checkNames(plan.trains, plan.comparisons);
  if (faults.length > 0) throw new ReportError(faults);
  const partial = await openPartial(plan.outDir);
  try {
    const cleaned = { site: cleanTexts(plan.site), comparisons: cleanTexts(plan.comparisons) };
    return await writeSite({ ...plan, ...cleaned }, partial);
  } catch (error) {
    await dropPartial(plan.outDir);
    throw error;
  }
}

async function writeSite(plan: SitePlan, partial: string): Promise<SiteReport> {
  const { trains, outDir, onStep } = plan;
  const standing = await readSiteState(outDir);
  const kept = new Map<string, StandingTrain>();
  for (const { id, key } of trains) {
    const found = standing.get(id);
    if (found?.key === key) kept.set(id, found);
  }
  if (kept.size > 0) onStep(`${kept.size} ${kept.size === 1 ? "page" : "pages"} unchanged`);
  const changed = trains.map(({ id }) => id).filter((id) => !kept.has(id));
  const made = new Map((await plan.makeTrains(changed, partial)).map((summary) => [summary.id, summary]));
  const state = trains.map(({ id, key }): StandingTrain => {
    return kept.get(id) ?? { key, summary: made.get(id) as TrainSummary };
  });
  await writeRootPages(plan, state, partial);
  const written = [
    ...changed.map((id) => `trains/${id}`),
    ...plan.comparisons.map(({ id }) => `comparisons/${id}`),
  ];
  const { checkPages = checkSite } = plan;
  const found = await checkPages(partial, [...rootFolders, ...written], {
    dir: outDir,
    folders: new Set([...kept.keys()].map((id) => `trains/${id}`)),
  });
  if (found.length > 0) throw new ReportError(found);
  await writeSiteState(partial, state);
  await exchangeFolders(
    outDir,
    [...kept.keys()].map((id) => `trains/${id}`),
  );
  return { pages: trains.length + plan.comparisons.length + 2, reused: kept.size };
}

/**
 * The pages and files of the site as a whole, from what its trains say of themselves, and the comparisons' pages. A
 * comparison with a train whose review is a draft has its page and stands in no list.
 */
async function writeRootPages(
  { site, comparisons, outDir, quick = false }: SitePlan,
  state: readonly StandingTrain[],
  partial: string,
): Promise<void> {
  const summaries = state.map(({ summary }) => summary).filter((summary) => !summary.isDraft);
  const published = new Set(summaries.map(({ id }) => id));
  const listed = comparisons.filter(({ a, b }) => published.has(a.train) && published.has(b.train));
  const index = makeIndexPage(
    summaries.map(({ row }) => row),
    site,
    listed,
  );
  await writeSiteFiles(summaries, listed, index, partial, quick);
  const folders = ["methods/", ...listed.map(({ id }) => `comparisons/${id}/`)];
  writePublication(summaries, site, folders, partial);
  const pages = new Map<string, ComparisonPage>();
  for (const comparison of comparisons)
    pages.set(comparison.id, await writeComparison(comparison, site, partial, [partial, outDir]));
  await renderPages(
    { siteTitle: index.title, index, trains: new Map(), comparisons: pages, linksStyle: quick },
    partial,
  );
  const reports = comparisons.map(({ id }) => ({ kind: "comparisons" as const, id }));
  await writeSingleFiles(reports, site, partial, { quick, standing: outDir });
}
