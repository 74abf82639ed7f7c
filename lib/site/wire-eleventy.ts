import type { UserConfig } from "@11ty/eleventy";
import { ReportError } from "../fault.ts";
import type { SiteRecord } from "../records/types.ts";
import type { Comparison } from "../report/results.ts";
import type { SiteTrain } from "./build-site.ts";
import { cleanTexts } from "./clean-text.ts";
import type { ComparisonPage } from "./comparison-page.ts";
import { configureEleventy } from "./configure-eleventy.ts";
import { isDraft } from "./draft.ts";
import { makeIndexPage, makeIndexRow } from "./index-page.ts";
import { writePublication } from "./publication/write-publication.ts";
import { writeSingleFiles } from "./publication/write-single-files.ts";
import type { TrainPage } from "./train-page.ts";
import { makeTrainSummary } from "./train-summary.ts";
import { writeComparison } from "./write-comparison.ts";
import { writeSiteFiles } from "./write-site-files.ts";
import { writeTrain } from "./write-train.ts";

/**
 * For Eleventy's own command: the files beside the pages go straight into its output folder, the pages follow from
 * Eleventy. The built pages are not checked and no page is taken over; `buildSite` does both.
 */
export async function wireEleventy(
  config: UserConfig,
  request: {
    trains: readonly SiteTrain[];
    comparisons?: readonly Comparison[];
    site: SiteRecord;
    outDir: string;
  },
): Promise<void> {
  const trains = request.trains.map((train) => ({ ...train, results: cleanTexts(train.results) }));
  const site = cleanTexts(request.site);
  const comparisons = cleanTexts(request.comparisons ?? []);
  const all = trains.map(({ results }) => results);
  const published = all.filter((results) => !isDraft(results));
  const index = makeIndexPage(published.map(makeIndexRow), site, comparisons);
  await writeSiteFiles(published, comparisons, index, request.outDir);
  const pages = new Map<string, TrainPage>();
  for (const train of trains) pages.set(train.results.id, await writeTrain(train, site, request.outDir));
  const faults = [...pages.values()].flatMap(({ proseFaults }) => proseFaults);
  if (faults.length > 0) throw new ReportError(faults);
  writePublication(published.map(makeTrainSummary), site, ["methods/"], request.outDir);
  const reports = [
    ...[...pages.keys()].map((id) => ({ kind: "trains" as const, id })),
    ...comparisons.map(({ id }) => ({ kind: "comparisons" as const, id })),
  ];
  config.on("eleventy.after", () => writeSingleFiles(reports, site, request.outDir));
  const compared = new Map<string, ComparisonPage>();
  for (const comparison of comparisons)
    compared.set(comparison.id, await writeComparison(comparison, site, request.outDir, [request.outDir]));
  configureEleventy(config, { siteTitle: index.title, index, trains: pages, comparisons: compared });
}
