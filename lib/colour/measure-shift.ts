import { computeFisherTail, computeStudentQuantile } from "../maths/distributions.ts";
import { addError, fitLean, type LeanFit, moveToLight } from "./fit-lean.ts";
import { fitShift, type ShiftFit } from "./fit-shift.ts";
import { type ShiftStars, type ShiftTerms, type ShiftUnits, takeRows } from "./shift-model.ts";

/** An estimate with its standard error and the degrees of freedom of that error. */
export interface Estimate {
  value: number;
  error: number;
  freedom: number;
}

/** What the two channels' star places say, um. */
export interface ShiftMeasure {
  fit: ShiftFit;
  terms: ShiftTerms;
  /** Shift along the radius at the very corner, outward positive. */
  lateral: Estimate;
  /** Its part that grows as the cube of the radius; error NaN where the fit has no such term. */
  cubic: Estimate;
  /** Difference of magnification, mean over the sensor, parts per million. */
  scalePpm: Estimate;
  /** Shift of the whole field along x and y, the larger and the covariance; null where frames are pointed by themselves. */
  constant: { x: Estimate; y: Estimate; covariance: number } | null;
  /** What one magnitude of star colour adds: along the radius at the corner, and to the field's shift. */
  perColour: { lateral: Estimate; x: Estimate; y: Estimate } | null;
  /** What of it is due to the light's places lying elsewhere than the fitted ones; null where too few stars tell. */
  lean: LeanFit | null;
  frames: number;
  /** Different stars, and the largest field radius of those with weight over the half-diagonal. */
  stars: number;
  reach: number;
}

/** Below this a scale and a shift are not worth their intervals. */
export const FEWEST_PAIRS = 25;
/** Stars from which on a fit can carry more: cubic, shear and colour; then the six quadratic terms (a tenth each, chosen). */
const enoughForShape = 60;
const enoughForBend = 150;
/** Stars whose colours differ by less, mag, do not tell what colour does (chosen: below the error of a colour). */
const leastColourSpread = 0.01;
/** A cubic is told from a straight line only by stars out here, rho. */
const reachForCubic = 0.7;

/** Frames that differ by more than chance at this level count as the unit of scatter (Bancroft 1964, "sometimes pool"). */
const poolingLevel = 0.4;

function chooseTerms(stars: ShiftStars, units: ShiftUnits, ownPointing: boolean): ShiftTerms {
  const different = new Set(stars.star).size;
  const radii = stars.xMm.map((x, row) => Math.hypot(x, stars.yMm[row]) / units.halfDiagonalMm).sort();
  const reach = radii[Math.floor(0.98 * radii.length)] ?? 0;
  const coloured = stars.colour.filter(Number.isFinite);
  const spread = Math.sqrt(coloured.reduce((sum, value) => sum + value ** 2, 0) / coloured.length);
  return {
    ownPointing,
    cubic: different >= enoughForShape && reach > reachForCubic,
    shear: different >= enoughForShape,
    quadratic: different >= enoughForBend,
    colour:
      different >= enoughForShape && coloured.length === stars.colour.length && spread > leastColourSpread,
  };
}

/** The rows of one frame, counted as frame 0. */
function takeFrame(stars: ShiftStars, frame: number): ShiftStars {
  const rows = takeRows(stars, (row) => stars.frame[row] === frame);
  return { ...rows, frame: new Int32Array(rows.frame.length) };
}

function combineTerms(
  fit: ShiftFit,
  contrast: ReadonlyMap<number, number>,
): { value: number; variance: number } {
  const { columns } = fit.design;
  let [value, variance] = [0, 0];
  for (const [i, factor] of contrast) {
    value += factor * fit.coefficients[i];
    for (const [j, other] of contrast) variance += factor * other * fit.covariance[i * columns + j];
  }
  return { value, variance };
}

/**
 * Value and error of a combination of terms, with how much frames differ beyond what their stars make likely. Frames of one
 * pointing each have a focus and a refraction of their own, so they are the unit: Student's t for their number, never less than
 * what the stars alone leave open.
 */
function estimate(
  fit: ShiftFit,
  single: readonly ShiftFit[],
  pick: (fit: ShiftFit) => ReadonlyMap<number, number>,
  ownPointing: boolean,
): Estimate {
  const { value, variance } = combineTerms(fit, pick(fit));
  const freedom = Math.max(1, fit.stars - fit.design.columns / 2);
  const count = single.length;
  if (count < 2) return { value, error: Math.sqrt(variance), freedom };
  const parts = single.map((frame) => combineTerms(frame, pick(frame)));
  const middle = parts.reduce((sum, part) => sum + part.value, 0) / count;
  const between = parts.reduce((sum, part) => sum + (part.value - middle) ** 2, 0) / (count - 1);
  if (ownPointing)
    return { value, error: Math.sqrt(Math.max(variance, between / count)), freedom: count - 1 };
  const within = parts.reduce((sum, part) => sum + part.variance, 0) / count;
  const differ = computeFisherTail(between / within, count - 1, freedom) < poolingLevel;
  const frames = differ ? Math.max(0, between - within) / count : 0;
  if (frames === 0) return { value, error: Math.sqrt(variance), freedom };
  const total = variance + frames;
  // Welch & Satterthwaite: the frames' own scatter is known from few.
  const welch = total ** 2 / ((between / count) ** 2 / (count - 1) + variance ** 2 / freedom);
  return { value, error: Math.sqrt(total), freedom: Math.max(count - 1, welch) };
}

/** Mean of r4 over that of r2, on the sensor, in half-diagonals: what a cubic adds to the best straight line. */
export function computeCubicShare({ widthMm, heightMm, halfDiagonalMm }: ShiftUnits): number {
  const [a2, b2] = [(widthMm / halfDiagonalMm) ** 2 / 4, (heightMm / halfDiagonalMm) ** 2 / 4];
  const mean2 = (a2 + b2) / 3;
  const mean4 = (a2 * a2 + b2 * b2) / 5 + (2 * a2 * b2) / 9;
  return mean4 / mean2;
}

/**
 * Lateral colour, shift of the whole field and what star colour adds, from the stars of two channels: of the places of the
 * stars' light where enough bright stars tell them, else of the fitted centres.
 *
 * @returns null for fewer than 25 stars, or where they do not determine a scale and a shift
 */
export function measureShift(
  fitted: ShiftStars,
  units: ShiftUnits,
  ownPointing: boolean,
): ShiftMeasure | null {
  if (new Set(fitted.star).size < FEWEST_PAIRS) return null;
  const lean = fitLean(fitted, units);
  const stars = lean === null ? fitted : moveToLight(fitted, lean);
  const terms = chooseTerms(stars, units, ownPointing);
  const fit = fitShift(stars, terms, units);
  if (fit === null || fit.stars < FEWEST_PAIRS) return null;
  const { design } = fit;
  const single =
    design.frames < 2
      ? []
      : Array.from({ length: design.frames }, (_, k) => fitShift(takeFrame(stars, k), terms, units)).filter(
          (frame) => frame !== null,
        );
  const read = (pick: (fit: ShiftFit) => ReadonlyMap<number, number>) =>
    estimate(fit, single, pick, ownPointing);
  const column =
    (index: number, factor = 1) =>
    () =>
      new Map([[index, factor]]);
  const cubicShare = computeCubicShare(units);
  const ppmPerUm = 1000 / units.halfDiagonalMm;
  const radialAt = (linear: number, cubic: number) => () =>
    new Map([[design.radial, linear], ...(design.cubic < 0 ? [] : [[design.cubic, cubic] as const])]);
  const unknown: Estimate = { value: 0, error: Number.NaN, freedom: 1 };
  let reach = 0;
  fit.weight.forEach((weight, row) => {
    if (weight > 0) reach = Math.max(reach, Math.hypot(stars.xMm[row], stars.yMm[row]));
  });
  return {
    fit,
    terms,
    lateral: addError(read(radialAt(1, 1)), lean?.lateral),
    cubic: design.cubic < 0 ? unknown : read(column(design.cubic)),
    scalePpm: addError(read(radialAt(ppmPerUm, ppmPerUm * cubicShare)), lean?.lateral, ppmPerUm),
    constant: ownPointing
      ? null
      : {
          x: addError(read(column(design.shift)), lean?.x),
          y: addError(read(column(design.shift + 1)), lean?.y),
          covariance: fit.covariance[design.shift * design.columns + design.shift + 1],
        },
    perColour:
      design.colourRadial < 0
        ? null
        : {
            lateral: read(column(design.colourRadial)),
            x: read(column(design.colourShift)),
            y: read(column(design.colourShift + 1)),
          },
    lean,
    frames: design.frames,
    stars: fit.stars,
    reach: reach / units.halfDiagonalMm,
  };
}

/** Half the 95 % interval of an estimate. */
export function computeHalfWidth({ error, freedom }: Estimate): number {
  return error * computeStudentQuantile(0.975, freedom);
}
