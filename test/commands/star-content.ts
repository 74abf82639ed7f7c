import { mkdirSync, utimesSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { makeRandom } from "../../lib/maths/random.ts";

/** A content folder whose tests are star tables made elsewhere, so that no frame has to be drawn or measured. */
export interface StarContent {
  trains: number;
  /** Tests of each train. */
  tests?: number;
  stars?: number;
}

function writeTrain(index: number): string {
  return `name: Tarnlight 80 no. ${index}
telescope: { name: Tarnlight 80, apertureMm: 80, focalLengthMm: 400, obstructionMm: 0 }
corrector: { name: Tarnlight F1, kind: flattener, factor: 1, backFocusMm: 55, radialMeans: tooClose }
stack:
  - { part: M54 ring, lengthMm: 36.5, clearDiameterMm: 50.5 }
  - { spacersMm: [1.0], clearDiameterMm: 50.5 }
camera: { name: Heron 9, widthPx: 3000, heightPx: 2000, pixelPitchUm: 3.76, flangeMm: 17.5 }
spacersOwnedMm: [0.1, 0.2, 0.3, 0.5, 1.0]
`;
}

function writeTest(index: number): string {
  return `date: 2026-10-${String(3 + index).padStart(2, "0")}
spacersMm: [${(1 + 0.2 * index).toFixed(1)}]
starTable: { file: stars.csv, columns: { x: X, y: Y, fwhmMajor: W1, fwhmMinor: W2, angle: PA }, units: { x: px, y: px, fwhmMajor: px, fwhmMinor: px, angle: deg } }
notes: Dew on the tube after midnight.
`;
}

/** Stars that widen and lengthen along the radius with the square of it; seed: their number. */
function writeStars(seed: number, count: number): string {
  const random = makeRandom(seed);
  const lines = ["X,Y,W1,W2,PA"];
  for (let k = 0; k < count; k++) {
    const [x, y] = [20 + random() * 2960, 20 + random() * 1960];
    const [dx, dy] = [x - 1500, 1000 - y];
    const r2 = (dx * dx + dy * dy) / 1803 ** 2;
    const width = 3 + 0.4 * r2 + 0.05 * (random() - 0.5);
    const angle = ((Math.atan2(dy, dx) * 180) / Math.PI + 360) % 180;
    lines.push([x, y, width * (1 + 0.12 * r2), width, angle].map((value) => value.toFixed(4)).join(","));
  }
  return `${lines.join("\n")}\n`;
}

/** Files of the content by their paths; written in the order given by `order` (any permutation gives the same site). */
export function listStarContent({ trains, tests = 1, stars = 300 }: StarContent): Map<string, string> {
  const files = new Map([
    [
      "site.yaml",
      'title: "Fellside Star Club: optical trains"\nauthor: M. Harrowgate\nclub: Fellside Star Club\nbaseUrl: https://fellside.example/reports/\n',
    ],
  ]);
  for (let t = 0; t < trains; t++) {
    const folder = `trains/tarn-80-${t}`;
    files.set(`${folder}/train.yaml`, writeTrain(t));
    files.set(`${folder}/review.md`, "A steady night, and the *same* ring as before.\n");
    for (let k = 0; k < tests; k++) {
      files.set(`${folder}/tests/2026-10-${String(3 + k).padStart(2, "0")}/test.yaml`, writeTest(k));
      files.set(
        `${folder}/tests/2026-10-${String(3 + k).padStart(2, "0")}/stars.csv`,
        writeStars(100 + t * 10 + k, stars),
      );
    }
  }
  return files;
}

/** Writes the files, in the map's order or its reverse, with times of the past so that they count as settled. */
export function writeStarContent(dir: string, files: ReadonlyMap<string, string>, reversed = false): void {
  const entries = [...files];
  for (const [path, text] of reversed ? entries.reverse() : entries) writeOld(join(dir, path), text);
}

export function writeOld(path: string, text: string): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, text);
  utimesSync(path, new Date("2026-11-01T12:00:00Z"), new Date("2026-11-01T12:00:00Z"));
}
