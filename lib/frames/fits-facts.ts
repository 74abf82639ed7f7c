import { type BayerPattern, convertHeaderPattern, findPattern } from "./cfa.ts";
import { parseFitsNumber } from "./fits-card.ts";
import { type FitsHeader, findNumber, findText } from "./fits-header.ts";
import { computeMeanScaleArcsec, computeNorthAngleDeg, readWcsMatrix } from "./fits-wcs.ts";
import type { HeaderFacts } from "./frame.ts";

/** What a file without a readable header knows: nothing. */
export const NO_FACTS: Readonly<HeaderFacts> = {
  exposureS: null,
  pixelPitchUm: null,
  binning: null,
  focalLengthMm: null,
  filter: null,
  dateObs: null,
  cfa: null,
  wcsScaleArcsecPerPx: null,
  wcsRotationDeg: null,
  gainElectronsPerAdu: null,
  readNoiseElectrons: null,
  saturationAdu: null,
  focuserPosition: null,
  altitudeDeg: null,
  kind: null,
  keywords: {},
};

/** ROWORDER = 'TOP-DOWN': the first stored row is the displayed top; else it is the bottom, as the standard has it. */
export function readsFromBottom(header: FitsHeader): boolean {
  return !/^top[- _]?down$/i.test(findText(header, "ROWORDER") ?? "");
}

/**
 * The first of the keywords whose number lies within bounds; numbers in quotes count. One that is there and cannot be
 * used gets a warning, so that a silent null never hides a decimal comma.
 */
function findFact(
  header: FitsHeader,
  keywords: readonly string[],
  min: number,
  max: number,
  warnings: string[],
): number | null {
  for (const keyword of keywords) {
    const text = findText(header, keyword);
    if (text === null) continue;
    const value = findNumber(header, keyword) ?? parseFitsNumber(text);
    if (Number.isFinite(value) && value >= min && value <= max) return value;
    // Writers fill in 0 for what they were not told: as good as silence.
    if (value === 0) continue;
    warnings.push(
      `The header's ${keyword} (${text.slice(0, 40)}) is no number between ${min} and ${max}; it was not used.`,
    );
  }
  return null;
}

/** Degrees from a number or from "dd mm ss" text. */
function parseDegrees(text: string): number {
  const match = /^([+-]?)(\d+)[\s:]+(\d+)(?:[\s:]+(\d+(?:\.\d+)?))?$/.exec(text.trim());
  if (match === null) return parseFitsNumber(text.trim());
  const degrees = Number(match[2]) + Number(match[3]) / 60 + Number(match[4] ?? 0) / 3600;
  return match[1] === "-" ? -degrees : degrees;
}

/** ALTITUDE means the target's in some headers and the site's, in metres, in others: the comment tells. */
function findAltitudeDeg(header: FitsHeader): number | null {
  for (const keyword of ["OBJCTALT", "CENTALT", "ALTITUDE"]) {
    const card = header.cards.get(keyword);
    if (card === undefined) continue;
    if (keyword === "ALTITUDE" && /\bm\b|met(er|re)|site|observ|elevation|sea level/i.test(card.comment))
      continue;
    const degrees = parseDegrees(card.text);
    if (degrees >= -1 && degrees <= 90) return degrees;
  }
  return null;
}

/** The kind of exposure by the words writers use; a dark taken for flats is a dark. */
function findKind(header: FitsHeader): HeaderFacts["kind"] {
  const text = findText(header, "IMAGETYP") ?? findText(header, "FRAME") ?? "";
  if (/dark/i.test(text)) return "dark";
  if (/bias|offset|zero/i.test(text)) return "bias";
  if (/flat/i.test(text)) return "flat";
  return /light|object|science/i.test(text) ? "light" : null;
}

function findCfa(
  header: FitsHeader,
  heightPx: number,
  fromBottom: boolean,
  warnings: string[],
): BayerPattern | null {
  const text = findText(header, "BAYERPAT");
  if (text === null) return null;
  const pattern = findPattern(text);
  if (pattern === null) {
    warnings.push(
      `The header's BAYERPAT (${text.slice(0, 40)}) is not one of RGGB, BGGR, GRBG and GBRG; it was not used.`,
    );
    return null;
  }
  const offset = (keyword: string): number =>
    Math.round(findFact(header, [keyword], -1e6, 1e6, warnings) ?? 0);
  return convertHeaderPattern(pattern, offset("XBAYROFF"), offset("YBAYROFF"), heightPx, fromBottom);
}

/**
 * What a FITS header says of the exposure; `warnings` gains what could not be used.
 *
 * Keywords are those of common practice, most of them outside the standard. Only EGAIN is taken as gain: it is
 * electrons per ADU wherever it is written, whereas GAIN is that in some headers and the camera's own setting, in
 * steps or tenths of a decibel, in others, and nothing in the file tells which.
 */
export function readFitsFacts(header: FitsHeader, heightPx: number, warnings: string[]): HeaderFacts {
  const fact = (keywords: readonly string[], min: number, max: number): number | null =>
    findFact(header, keywords, min, max, warnings);
  const fromBottom = readsFromBottom(header);
  const wcs = readWcsMatrix(header);
  const binning = fact(["XBINNING"], 1, 64);
  const binningY = fact(["YBINNING"], 1, 64);
  if (binning !== null && binningY !== null && binning !== binningY) {
    warnings.push(
      `The header says binning ${binning} x ${binningY}: such pixels are not square, and star shapes read as stretched.`,
    );
  }
  return {
    exposureS: fact(["EXPTIME", "EXPOSURE"], 0, 1e6),
    pixelPitchUm: fact(["XPIXSZ", "PIXSIZE1", "PIXSIZE"], 0.1, 1000),
    binning: binning !== null && Number.isInteger(binning) ? binning : null,
    focalLengthMm: fact(["FOCALLEN"], 1, 1e6),
    filter: findText(header, "FILTER"),
    dateObs: findText(header, "DATE-OBS"),
    cfa: findCfa(header, heightPx, fromBottom, warnings),
    wcsScaleArcsecPerPx: wcs === null ? null : computeMeanScaleArcsec(wcs),
    wcsRotationDeg: wcs === null ? null : computeNorthAngleDeg(wcs, fromBottom),
    gainElectronsPerAdu: fact(["EGAIN"], 1e-6, 1e6),
    readNoiseElectrons: fact(["RDNOISE", "READNOIS"], 0, 1e5),
    saturationAdu: fact(["SATURATE", "DATAMAX"], 1e-9, 1e12),
    focuserPosition: fact(["FOCUSPOS", "FOCPOS"], -1e9, 1e9),
    altitudeDeg: findAltitudeDeg(header),
    kind: findKind(header),
    keywords: Object.fromEntries([...header.cards].map(([keyword, card]) => [keyword, card.text])),
  };
}
