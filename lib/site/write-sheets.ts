import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, resolve, sep } from "node:path";
import sharp from "sharp";
import { type CropSheet, measureSheet } from "../draw/crop-sheet.ts";
import type { SheetKind } from "../draw/list-figures.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import { encodeGreyPng } from "./grey-png.ts";
import { type GreyPicture, readGreyPng } from "./read-grey-png.ts";
import { stretchCrop } from "./stretch-crop.ts";

/** The cut-outs of one list of a test, and the two sheets they are written to, relative to the train's page. */
export interface SheetPlan {
  testId: string;
  kind: SheetKind;
  cellPx: number;
  /** Absolute file and side of each cut-out in the list's order; null where the name leads out of the test's folder. */
  crops: readonly ({ from: string; sidePx: number } | null)[];
  seen: string;
  measured: string;
}

/** A sheet as it was written; `hasPicture` tells whether there was anything to write. */
export interface WrittenSheet extends SheetPlan {
  sheet: CropSheet;
}

/** Larger pictures than any cut-out are not read: the folder may hold anything. */
const largestCropBytes = 4_000_000;

const fileNames: Record<SheetKind, string> = { spokes: "cut-outs", channels: "channel-cut-outs" };

/** Where a sheet's pictures lie, relative to its train's page. */
export function nameSheetFiles(testId: string, kind: SheetKind): Pick<SheetPlan, "seen" | "measured"> {
  const start = `tests/${testId}/${fileNames[kind]}`;
  return { seen: `${start}.png`, measured: `${start}-measured.png` };
}

/** The lists of a test's cut-outs that the results hold. */
function listKinds(test: TestResults): [SheetKind, readonly { file: string; sidePx: number }[]][] {
  return [
    ["spokes", test.spokes?.crops ?? []],
    ["channels", test.colour?.crops ?? []],
  ];
}

/**
 * The sheets that the results ask for. `testDirs`: absolute folder by test id that the results' `file` is relative to; names
 * that lead out of it leave their cell empty.
 */
export function planSheets(results: TrainResults, testDirs: Readonly<Record<string, string>>): SheetPlan[] {
  return results.tests.flatMap((test) => {
    const dir = Object.hasOwn(testDirs, test.id) ? resolve(testDirs[test.id]) : null;
    if (dir === null) return [];
    return listKinds(test).flatMap(([kind, crops]) => {
      const size = measureSheet(crops);
      if (size === null) return [];
      const files = crops.map(({ file, sidePx }) => {
        const from = resolve(dir, file);
        return from.startsWith(dir + sep) ? { from, sidePx } : null;
      });
      return [{ testId: test.id, kind, cellPx: size.cellPx, crops: files, ...nameSheetFiles(test.id, kind) }];
    });
  });
}

/** The samples of a cut-out; pictures other than those that measuring writes take the general reader. */
async function decodeCrop(bytes: Buffer): Promise<GreyPicture> {
  const plain = readGreyPng(bytes);
  if (plain !== null) return plain;
  const { space } = await sharp(bytes).metadata();
  const image = sharp(bytes).toColourspace(space === "rgb16" || space === "grey16" ? "grey16" : "b-w");
  const { data, info } = await image.raw({ depth: "ushort" }).toBuffer({ resolveWithObject: true });
  const samples = new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2);
  const pixels = info.channels === 1 ? samples : samples.filter((_, k) => k % info.channels === 0);
  return { samples: pixels, width: info.width, height: info.height };
}

/** A cut-out as the results describe it; null where it is missing, no picture, or of another size. */
async function readCrop(crop: SheetPlan["crops"][number]): Promise<GreyPicture | null> {
  if (crop === null) return null;
  try {
    const bytes = readFileSync(crop.from);
    if (bytes.length > largestCropBytes) return null;
    const picture = await decodeCrop(bytes);
    return picture.width === crop.sidePx && picture.height === crop.sidePx ? picture : null;
  } catch {
    return null;
  }
}

/** Copies a square picture into the upper left of its cell. */
function placeCrop(
  sheet: Uint8Array | Uint16Array,
  cellPx: number,
  index: number,
  pixels: ArrayLike<number>,
  sidePx: number,
): void {
  for (let y = 0; y < sidePx; y++) {
    const to = (index * cellPx + y) * cellPx;
    for (let x = 0; x < sidePx; x++) sheet[to + x] = pixels[y * sidePx + x];
  }
}

async function writeSheet(plan: SheetPlan, trainDir: string): Promise<WrittenSheet> {
  const { crops, cellPx, seen, measured } = plan;
  const height = crops.length * cellPx;
  const ink = new Uint8Array(cellPx * height).fill(255);
  const samples = new Uint16Array(cellPx * height);
  const missing = new Set<number>();
  for (const [index, crop] of crops.entries()) {
    const picture = await readCrop(crop);
    if (picture === null) {
      missing.add(index);
      continue;
    }
    const { width } = picture;
    placeCrop(samples, cellPx, index, picture.samples, width);
    placeCrop(ink, cellPx, index, stretchCrop(picture.samples, width, width), width);
  }
  if (missing.size < crops.length) {
    mkdirSync(dirname(join(trainDir, seen)), { recursive: true });
    writeFileSync(join(trainDir, seen), encodeGreyPng(ink, cellPx, height));
    writeFileSync(join(trainDir, measured), encodeGreyPng(samples, cellPx, height));
  }
  return { ...plan, sheet: { href: seen, cellPx, cells: crops.length, missing } };
}

/**
 * Writes the cut-outs of each list as one picture for the eye and one as measured (16 bit) into the train's folder. Those
 * that cannot be read are named as missing: the page then stands without them and says so.
 */
export async function writeSheets(plans: readonly SheetPlan[], trainDir: string): Promise<WrittenSheet[]> {
  const written: WrittenSheet[] = [];
  for (const plan of plans) written.push(await writeSheet(plan, trainDir));
  return written;
}

/** Sheets that hold at least one cut-out. */
export function hasPicture({ sheet }: WrittenSheet): boolean {
  return sheet.missing.size < sheet.cells;
}
