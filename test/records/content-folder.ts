import { mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll } from "vitest";
import type { Fault } from "../../lib/fault.ts";
import { readContent } from "../../lib/records/read-content.ts";

const made: string[] = [];
afterAll(async () => {
  for (const dir of made) await rm(dir, { recursive: true, force: true });
});

/** A content folder of these files in the system's place for temporary files; removed after the tests of a file. */
export async function makeContent(files: Record<string, string | Uint8Array>): Promise<string> {
  const dir = await mkdtemp(join(tmpdir(), "records-"));
  made.push(dir);
  for (const [name, text] of Object.entries(files)) {
    await mkdir(dirname(join(dir, name)), { recursive: true });
    await writeFile(join(dir, name), text);
  }
  return dir;
}

/** "line:column" of the first place at which `part` stands in `text`, counted apart from any parser. */
export function countPlace(text: string, part: string): string {
  const offset = text.indexOf(part);
  if (offset < 0) throw new Error(`nowhere in the text: ${part}`);
  const before = text.slice(0, offset).split("\n");
  return `${before.length}:${before[before.length - 1].length + 1}`;
}

/** A fault in one line: place relative to the folder, kind, key. */
export function place(fault: Fault, dir: string): string {
  const file = fault.file.replace(`${dir.replaceAll("\\", "/")}/`, "");
  return `${file}:${fault.line ?? "-"}:${fault.column ?? "-"} ${fault.code.replace("records/", "")} ${fault.key ?? "-"}`;
}

/** Reads the files as a content folder: what is sound, the faults, and their places. */
export async function readFiles(files: Record<string, string | Uint8Array>) {
  const dir = await makeContent(files);
  const { content, faults } = await readContent(dir);
  return { dir, content, faults, places: faults.map((fault) => place(fault, dir)) };
}

/** A train without a fault. */
export const soundTrain = `name: Tarnlight 115 with reducer
telescope: { name: Tarnlight 115, apertureMm: 115, focalLengthMm: 805 }
corrector:
  name: Tarnlight R79
  kind: reducer
  factor: 0.79
  backFocusMm: 55
stack:
  - { part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }
  - { spacersMm: [1.0], clearDiameterMm: 50.5 }
  - { part: filter drawer, lengthMm: 20.0, clearDiameterMm: 45, glass: { thicknessMm: 2.0 } }
camera: { name: Heron 26, widthPx: 6248, heightPx: 4176, pixelPitchUm: 3.76, flangeMm: 17.5 }
`;

/** A test without a fault. */
export const soundTest = `date: 2026-10-03
frames: [frames/field-*.fits]
spacersMm: [1.0, 0.3]
`;

export const trainFile = "trains/tarn/train.yaml";
export const testFile = "trains/tarn/tests/2026-10-03/test.yaml";

/** The faults of a train whose text is the sound one with `from` replaced by `to`. */
export async function readTrain(from: string | RegExp, to: string) {
  if (soundTrain.replace(from, to) === soundTrain) throw new Error(`nothing to replace: ${from}`);
  return readFiles({ [trainFile]: soundTrain.replace(from, to) });
}

/** The faults of a sound train's test. */
export async function readTest(text: string, more: Record<string, string> = {}) {
  return readFiles({ [trainFile]: soundTrain, [testFile]: text, ...more });
}
