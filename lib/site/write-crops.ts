import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, resolve, sep } from "node:path";
import sharp from "sharp";
import type { TrainResults } from "../report/results.ts";
import { makeSafePath } from "./escape-text.ts";
import { encodeGreyPng } from "./grey-png.ts";
import { type GreyPicture, readGreyPng } from "./read-grey-png.ts";
import { stretchCrop } from "./stretch-crop.ts";

/** A cut-out's two files, relative to the train's page. */
export interface CropFile {
  testId: string;
  file: string;
  from: string;
  display: string;
  raw: string;
}

/** Larger pictures than any cut-out are not read: the folder may hold anything. */
const largestCropBytes = 4_000_000;

/** Where a cut-out's pictures lie, relative to its train's page. */
export function nameCropFile(testId: string, file: string): Pick<CropFile, "display" | "raw"> {
  const name = makeSafePath(file).replace(/^crops\//, "");
  const folder = `tests/${testId}/crops`;
  return { display: `${folder}/${name.replace(/\.[^./]*$/, "")}-seen.png`, raw: `${folder}/${name}` };
}

/**
 * The cut-outs that the results name, with their places on the site. Names that lead out of the test's folder are left
 * out. `testDirs`: absolute folder by test id that the results' `file` is relative to.
 */
export function listCrops(results: TrainResults, testDirs: Readonly<Record<string, string>>): CropFile[] {
  return results.tests.flatMap((test) => {
    const dir = Object.hasOwn(testDirs, test.id) ? resolve(testDirs[test.id]) : null;
    if (dir === null) return [];
    return [...(test.spokes?.crops ?? []), ...(test.colour?.crops ?? [])].flatMap(({ file }) => {
      const from = resolve(dir, file);
      if (!from.startsWith(dir + sep)) return [];
      return [{ testId: test.id, file, from, ...nameCropFile(test.id, file) }];
    });
  });
}

/** The samples of a cut-out; pictures other than those that measuring writes take the general reader. */
async function readCrop(bytes: Buffer): Promise<GreyPicture> {
  const plain = readGreyPng(bytes);
  if (plain !== null) return plain;
  const { space } = await sharp(bytes).metadata();
  const image = sharp(bytes).toColourspace(space === "rgb16" || space === "grey16" ? "grey16" : "b-w");
  const { data, info } = await image.raw({ depth: "ushort" }).toBuffer({ resolveWithObject: true });
  const samples = new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2);
  const pixels = info.channels === 1 ? samples : samples.filter((_, k) => k % info.channels === 0);
  return { samples: pixels, width: info.width, height: info.height };
}

async function drawCrop(bytes: Buffer): Promise<Buffer> {
  const crop = await readCrop(bytes);
  const { grey, width, height } = stretchCrop(crop.samples, crop.width, crop.height);
  return encodeGreyPng(grey, width, height);
}

/**
 * Writes each cut-out as it is and as a picture for the eye into the train's folder. Gives back those that could not
 * be read (missing, too large, no picture): the page then stands without them and says so.
 */
export async function writeCrops(crops: readonly CropFile[], trainDir: string): Promise<CropFile[]> {
  const folders = new Set(crops.map((crop) => dirname(join(trainDir, crop.raw))));
  for (const dir of folders) mkdirSync(dir, { recursive: true });
  const written = await Promise.all(crops.map((crop) => writeCrop(crop, trainDir)));
  return crops.filter((_, k) => !written[k]);
}

function readSafely(file: string): Buffer | null {
  try {
    return readFileSync(file);
  } catch {
    return null;
  }
}

async function writeCrop(crop: CropFile, trainDir: string): Promise<boolean> {
  const bytes = readSafely(crop.from);
  if (bytes === null || bytes.length > largestCropBytes) return false;
  const seen = await drawCrop(bytes).catch(() => null);
  if (seen === null) return false;
  writeFileSync(join(trainDir, crop.raw), bytes);
  writeFileSync(join(trainDir, crop.display), seen);
  return true;
}
