import { findNumber, findText, isTrue } from "./fits-header.ts";
import { type FitsUnit, requireInteger } from "./fits-unit.ts";
import { makeFrameError } from "./frame-fault.ts";
import { frameSizeAllowed, judgeFrameSize } from "./frame-limits.ts";

export type Bitpix = 8 | 16 | 32 | 64 | -32 | -64;

/** How an image is stored: physical value = bzero + bscale * stored. */
export interface ImageLayout {
  bitpix: Bitpix;
  widthPx: number;
  heightPx: number;
  planes: number;
  bscale: number;
  bzero: number;
  /** Stored value that stands for "no value", integers only. */
  blank: bigint | null;
  /** True for a tile-compressed image, kept in a binary table. */
  tiled: boolean;
}

/** What a unit holds, in a few words, for the list in a fault. */
export function describeFitsUnit(unit: FitsUnit): string {
  const extension = findText(unit.header, "XTENSION");
  const name = findText(unit.header, "EXTNAME");
  const label = `unit ${unit.index}${name === null ? "" : ` (${name})`}`;
  if (isTiled(unit)) return `${label}: tile-compressed image, ${readAxes(unit).join(" x ")}`;
  if (extension !== null && extension !== "IMAGE") return `${label}: ${extension.toLowerCase()}`;
  return unit.axes.length === 0 || unit.axes.includes(0)
    ? `${label}: no image`
    : `${label}: image, ${unit.axes.join(" x ")}`;
}

function isTiled(unit: FitsUnit): boolean {
  return findText(unit.header, "XTENSION") === "BINTABLE" && isTrue(unit.header, "ZIMAGE");
}

function isPlainImage(unit: FitsUnit): boolean {
  const extension = findText(unit.header, "XTENSION");
  return extension === null || extension === "IMAGE" || extension === "IUEIMAGE";
}

/** The image's axes: those of the table that holds it are not its own. */
function readAxes(unit: FitsUnit): number[] {
  if (!isTiled(unit)) return unit.axes;
  const count = findNumber(unit.header, "ZNAXIS") ?? 0;
  const axes: number[] = [];
  for (let axis = 1; axis <= Math.min(count, 999); axis++) {
    axes.push(findNumber(unit.header, `ZNAXIS${axis}`) ?? 0);
  }
  return axes;
}

/** True where a unit holds a picture this program can measure: two axes, or a third of 1 or 3 planes. */
export function holdsFrame(unit: FitsUnit): boolean {
  if (!isTiled(unit) && !isPlainImage(unit)) return false;
  const [widthPx = 0, heightPx = 0, planes = 1, ...further] = readAxes(unit);
  return widthPx > 0 && heightPx > 0 && (planes === 1 || planes === 3) && further.every((axis) => axis === 1);
}

/** BLANK as a whole number of any size; null, with a warning, where it cannot apply. */
function readBlank(unit: FitsUnit, bitpix: number, tiled: boolean, warnings: string[]): bigint | null {
  const keyword = tiled && !unit.header.cards.has("BLANK") ? "ZBLANK" : "BLANK";
  const text = findText(unit.header, keyword);
  if (text === null) return null;
  if (bitpix < 0) {
    // A quantised tile has its own use for ZBLANK.
    if (keyword === "BLANK")
      warnings.push("The header has BLANK on floating-point data, where it has no meaning; it was not used.");
    return null;
  }
  if (/^[+-]?\d{1,20}$/.test(text)) return BigInt(text.replace("+", ""));
  warnings.push(`The header's ${keyword} is no whole number; it was not used.`);
  return null;
}

/** BSCALE or BZERO; a value that cannot be read would give a wrong picture, so it is a fault. */
function readScaling(file: string, unit: FitsUnit, keyword: string, absent: number): number {
  const card = unit.header.cards.get(keyword);
  if (card === undefined) return absent;
  const value = card.value.kind === "number" ? card.value.number : Number.NaN;
  const conflict = unit.header.conflicts.has(keyword);
  if (Number.isFinite(value) && !conflict && !(keyword === "BSCALE" && value === 0)) return value;
  throw makeFrameError({
    code: "frames/fits-scaling",
    file,
    key: keyword,
    found: conflict ? "the keyword more than once, with differing values" : card.text || "no value",
    allowed:
      keyword === "BSCALE"
        ? "one number, not 0, with a point for the decimals"
        : "one number, with a point for the decimals",
    fix: "correct the card with a FITS header editor, or write the file again",
  });
}

/**
 * How the image of a unit is stored; `warnings` gains what was left unused.
 * Throws `ReportError` for a size beyond the bounds, or scaling that cannot be read.
 */
export function readImageLayout(file: string, unit: FitsUnit, warnings: string[]): ImageLayout {
  const tiled = isTiled(unit);
  const [widthPx = 0, heightPx = 0, planes = 1] = readAxes(unit);
  const tooLarge = judgeFrameSize(widthPx, heightPx, planes);
  if (tooLarge !== null) {
    throw makeFrameError({
      code: "frames/too-large",
      file,
      found: tooLarge,
      allowed: frameSizeAllowed,
      fix: "check that the file is a frame of the camera; if so, crop it",
    });
  }
  const bitpix = tiled ? requireInteger(file, unit.header, "ZBITPIX", -64, 64) : unit.bitpix;
  return {
    bitpix: bitpix as Bitpix,
    widthPx,
    heightPx,
    planes,
    bscale: readScaling(file, unit, "BSCALE", 1),
    bzero: readScaling(file, unit, "BZERO", 0),
    blank: readBlank(unit, bitpix, tiled, warnings),
    tiled,
  };
}
