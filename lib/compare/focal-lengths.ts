import { makeExact, makeMeasured, type Quantity } from "../maths/quantity.ts";
import { computeNominalFocalLength } from "../train/focal-length.ts";
import { arcsecPerRadian } from "./angles.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { divideQuantities, multiplyQuantities } from "./quantity-sums.ts";
import { readSolvedFocalLength } from "./solved-scale.ts";

interface Pair {
  a: Quantity;
  b: Quantity;
}

/** Which side's focal length is taken as it stands: the other's follows from the ratio. */
export interface Anchor {
  side: "a" | "b";
  focalLength: Quantity;
  from: "plate solution" | "record";
}

/** Whether a side's light passes a corrector that changes the focal length. */
export function hasFactor(side: ComparisonSide): boolean {
  const { corrector } = side.train.record;
  return corrector !== null && corrector.factor !== 1;
}

/**
 * The side that is the measure: one with plate solutions (of two, the one with more frames solved), else one whose focal
 * length is the telescope's own, for a reducer's factor holds only at its own spacing; else a.
 */
export function chooseAnchor({ a, b }: { a: ComparisonSide; b: ComparisonSide }): Anchor {
  const [solvedA, solvedB] = [readSolvedFocalLength(a), readSolvedFocalLength(b)];
  const countA = solvedA?.value == null ? 0 : solvedA.n;
  const countB = solvedB?.value == null ? 0 : solvedB.n;
  if (solvedA !== null && countA > 0 && countA >= countB) {
    return { side: "a", focalLength: solvedA, from: "plate solution" };
  }
  if (solvedB !== null && countB > 0) return { side: "b", focalLength: solvedB, from: "plate solution" };
  const side = hasFactor(a) && !hasFactor(b) ? "b" : "a";
  const focalLength = computeNominalFocalLength((side === "a" ? a : b).train.record);
  return { side, focalLength, from: "record" };
}

/** Focal lengths as used, mm: the anchor's as it is, the other's by the ratio (b over a). */
export function computeFocalLengths(anchor: Anchor, ratio: Quantity): Pair {
  const assumes =
    anchor.from === "record"
      ? `${anchor.side.toUpperCase()}'s focal length on record is true; an error in it is in both alike.`
      : `${anchor.side.toUpperCase()}'s plate solutions are true; an error in them is in both alike.`;
  if (anchor.side === "a") {
    const working = { formula: "m * f_a", source: "ratio of the two sides' scales", assumes };
    return { a: anchor.focalLength, b: multiplyQuantities(anchor.focalLength, ratio, "mm", working) };
  }
  const working = { formula: "f_b / m", source: "ratio of the two sides' scales", assumes };
  return { a: divideQuantities(anchor.focalLength, ratio, "mm", working), b: anchor.focalLength };
}

/** Focal ratios as used: focal length over the telescope's aperture. */
export function computeFocalRatios(lengths: Pair, a: ComparisonSide, b: ComparisonSide): Pair {
  const divide = (length: Quantity, side: ComparisonSide) =>
    divideQuantities(length, makeExact(side.train.record.telescope.apertureMm, "mm"), "ratio", {
      formula: "f / D",
      source: "definition of the focal ratio",
    });
  return { a: divide(lengths.a, a), b: divide(lengths.b, b) };
}

/** um of one pixel of a side's frames as stored; the camera's own pixel where nothing was measured. */
export function readPitchUm(side: ComparisonSide): number {
  return side.geometry?.umPerPx ?? side.train.record.camera.pixelPitchUm;
}

/** Angle that one pixel of each side sees in the middle of the field, arcsec/px. */
export function computeImageScales(lengths: Pair, a: ComparisonSide, b: ComparisonSide): Pair {
  const scale = (length: Quantity, side: ComparisonSide) =>
    divideQuantities(makeExact((arcsecPerRadian * readPitchUm(side)) / 1000, "mm"), length, "arcsec/px", {
      formula: "206264.806 arcsec * p / f",
      source: "image scale, 1 rad = 206264.806 arcsec",
    });
  return { a: scale(lengths.a, a), b: scale(lengths.b, b) };
}

/** Angular size of b's pixel over that of a's: (p_b / p_a) / ratio. What the anchor's error is cancels. */
export function computePixelRatio(ratio: Quantity, a: ComparisonSide, b: ComparisonSide): Quantity {
  const pitches = readPitchUm(b) / readPitchUm(a);
  return divideQuantities(makeExact(pitches, "ratio"), ratio, "ratio", {
    formula: "p_b / p_a / m",
    source: "image scale: a pixel's side over the focal length, binning counted in",
  });
}

/** Difference between a ratio and the nominal one, percent of the nominal. */
export function compareWithNominal(ratio: Quantity, nominal: Quantity): Quantity {
  const relative = divideQuantities(ratio, nominal, "percent");
  if (relative.value === null) return relative;
  const percent = (value: number) => 100 * (value - 1);
  return makeMeasured(
    percent(relative.value),
    "percent",
    percent(relative.lo),
    percent(relative.hi),
    relative.n,
    { formula: "100 * (m / m_nominal - 1)" },
  );
}
