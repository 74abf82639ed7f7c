import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { type FindSheet, listFigures } from "../draw/list-figures.ts";
import type { SiteRecord } from "../records/types.ts";
import type { SiteTrain } from "./build-site.ts";
import { nameSite } from "./index-page.ts";
import { readProse } from "./prose/read-prose.ts";
import { cardFile } from "./publication/page-publication.ts";
import { renderCard } from "./publication/social-card.ts";
import type { TrainPage } from "./train-page.ts";
import { makeTrainPage } from "./train-page.ts";
import { hasPicture, planSheets, type WrittenSheet, writeSheets } from "./write-sheets.ts";
import { writeTrainFiles } from "./write-train-files.ts";

/** Files of one train but its page, and what the page will print. */
export async function writeTrain(train: SiteTrain, site: SiteRecord, outDir: string): Promise<TrainPage> {
  const { results } = train;
  const trainDir = join(outDir, "trains", results.id);
  const sheets = await writeSheets(planSheets(results, train.cropDirs), trainDir);
  const written = sheets.filter(hasPicture);
  const prose = await readProse(results, train.dir, trainDir);
  const page = makeTrainPage(
    results,
    listFigures(results, findAmong(written)),
    site,
    sayMissing(sheets),
    written,
    prose,
  );
  writeTrainFiles(results, page, trainDir);
  if (page.publication.card !== null) {
    const [finding] = page.findings;
    const card = await renderCard({
      site: nameSite(site),
      name: page.name,
      finding: finding === undefined ? null : { level: finding.levelWord, sentence: finding.sentence },
      foot: page.byline,
    });
    writeFileSync(join(trainDir, cardFile), card);
  }
  return page;
}

function findAmong(written: readonly WrittenSheet[]): FindSheet {
  return (test, kind) => written.find((one) => one.testId === test && one.kind === kind)?.sheet ?? null;
}

function sayMissing(sheets: readonly WrittenSheet[]): string[] {
  const count = sheets.reduce((sum, { sheet }) => sum + sheet.missing.size, 0);
  if (count === 0) return [];
  return [
    `${count} star ${count === 1 ? "cut-out was" : "cut-outs were"} not at hand when this page was made.`,
  ];
}
