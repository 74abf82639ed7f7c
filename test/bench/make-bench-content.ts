import { linkSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { everything, measureContent } from "../../lib/commands/measure-content.ts";
import { read } from "../../lib/pipeline.ts";

const nights = ["2026-10-03", "2026-10-09"];

function writeTrain(index: number): string {
  return `name: Tarnlight 115 no. ${index}
telescope: { name: Tarnlight 115, apertureMm: 115, focalLengthMm: 805, obstructionMm: 0 }
corrector: { name: Tarnlight R79, kind: reducer, factor: 0.79, backFocusMm: 55, radialMeans: tooClose }
stack:
  - { part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }
  - { spacersMm: [1.0], clearDiameterMm: 50.5 }
  - { part: filter drawer, lengthMm: 20.0, clearDiameterMm: 45, glass: { thicknessMm: 2.0, index: 1.517 } }
camera: { name: Heron 26, widthPx: 6248, heightPx: 4176, pixelPitchUm: 3.76, flangeMm: 17.5, cfa: none }
spacersOwnedMm: [0.1, 0.2, 0.3, 0.5, 1.0]
`;
}

const writeTest = (date: string, k: number, frame: string) =>
  `date: ${date}\nframes: [${JSON.stringify(frame)}]\nspacersMm: [${1 + 0.3 * k}]\nconditions: { moon: none, seeingNote: steady }\nnotes: Dew after midnight.\n`;

/**
 * A content folder of many trains, each with two tests of a real-sized frame. The frame is measured once; its measurement
 * and cut-outs stand in every test as links to the same files. Returns the folder.
 */
export async function makeBenchContent(dir: string, frame: string, trains: number): Promise<string> {
  const mould = join(dir, "mould");
  const test = join(mould, "trains/tarn-115-0/tests", nights[0]);
  mkdirSync(test, { recursive: true });
  writeFileSync(join(mould, "trains/tarn-115-0/train.yaml"), writeTrain(0));
  writeFileSync(join(test, "test.yaml"), writeTest(nights[0], 0, frame));
  await measureContent(await read(mould), {
    framesDir: null,
    only: null,
    jobs: undefined,
    shard: everything,
    onStep: () => {},
  });
  const content = join(dir, "content");
  for (let t = 0; t < trains; t++) {
    const folder = join(content, "trains", `tarn-115-${t}`);
    nights.forEach((night, k) => {
      mkdirSync(join(folder, "tests", night, "crops"), { recursive: true });
      writeFileSync(join(folder, "tests", night, "test.yaml"), writeTest(night, k, frame));
      linkSync(join(test, "measured.json"), join(folder, "tests", night, "measured.json"));
      for (const name of readdirSync(join(test, "crops")))
        linkSync(join(test, "crops", name), join(folder, "tests", night, "crops", name));
    });
    writeFileSync(join(folder, "train.yaml"), writeTrain(t));
    writeFileSync(join(folder, "review.md"), "A steady night, and the same ring as before.\n");
  }
  writeFileSync(join(content, "site.yaml"), 'title: "Fellside Star Club"\nauthor: M. Harrowgate\n');
  return content;
}

/** Renames one train in its record. */
export function changeOneRecord(content: string): void {
  const record = join(content, "trains/tarn-115-0/train.yaml");
  writeFileSync(record, readFileSync(record, "utf8").replace(/no\. 0.*/, "no. 0, renamed"));
}

/** Takes the site away and leaves what earlier builds computed. */
export function dropSite(site: string): void {
  rmSync(site, { recursive: true, force: true });
}
