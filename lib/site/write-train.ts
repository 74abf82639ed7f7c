import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { listFigures } from "../draw/list-figures.ts";
import type { SiteRecord } from "../records/types.ts";
import type { SiteTrain } from "./build-site.ts";
import { nameSite } from "./index-page.ts";
import { readProse } from "./prose/read-prose.ts";
import { cardFile } from "./publication/page-publication.ts";
import { renderCard } from "./publication/social-card.ts";
import type { TrainPage } from "./train-page.ts";
import { makeTrainPage } from "./train-page.ts";
import type { CropFile } from "./write-crops.ts";
import { listCrops, writeCrops } from "./write-crops.ts";
import { writeTrainFiles } from "./write-train-files.ts";

/** Files of one train but its page, and what the page will print. */
export async function writeTrain(train: SiteTrain, site: SiteRecord, outDir: string): Promise<TrainPage> {
  const { results } = train;
  const trainDir = join(outDir, "trains", results.id);
  const crops = listCrops(results, train.cropDirs);
  const failed = new Set(await writeCrops(crops, trainDir));
  const written = crops.filter((crop) => !failed.has(crop));
  const prose = await readProse(results, train.dir, trainDir);
  const page = makeTrainPage(
    results,
    listFigures(results, findCrop(written)),
    site,
    sayMissing(failed.size),
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

function findCrop(crops: readonly CropFile[]): (testId: string, file: string) => string | null {
  const addresses = new Map(crops.map((crop) => [`${crop.testId}\n${crop.file}`, crop.display]));
  return (testId, file) => addresses.get(`${testId}\n${file}`) ?? null;
}

function sayMissing(count: number): string[] {
  if (count === 0) return [];
  return [
    `${count} star ${count === 1 ? "cut-out was" : "cut-outs were"} not at hand when this page was made.`,
  ];
}
