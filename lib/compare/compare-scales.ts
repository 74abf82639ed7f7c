import { makeExact, makeMeasured, makeUnknown, type Quantity, type Working } from "../maths/quantity.ts";
import type { Comparison } from "../report/results.ts";
import type { ScaleResults } from "../report/scale-results.ts";
import { computeNominalFocalLength } from "../train/focal-length.ts";
import { computeAirShare } from "./air-share.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { describeScales, sayNoMatch } from "./describe-scales.ts";
import {
  chooseAnchor,
  compareWithNominal,
  computeFocalLengths,
  computeFocalRatios,
  computeImageScales,
  computePixelRatio,
} from "./focal-lengths.ts";
import type { NoMatch } from "./match-stars.ts";
import { measureReducer } from "./measure-reducer.ts";
import { isMeasured, type MeasuredScale, measureScale, type Reached } from "./measure-scale.ts";
import { divideQuantities } from "./quantity-sums.ts";
import { readSolvedFocalLength } from "./solved-scale.ts";
import { writeSmall } from "./write-small.ts";

/** Focal length of b over that of a as the two records have them. */
export function computeNominalRatio({ a, b }: { a: ComparisonSide; b: ComparisonSide }): Quantity {
  const [first, second] = [a, b].map(({ train }) => computeNominalFocalLength(train.record).value);
  if (first === null || second === null || !(first > 0)) {
    return makeUnknown("ratio", "The records do not give both focal lengths.");
  }
  return makeExact(second / first, "ratio", {
    formula: "f_b / f_a",
    working: `${Number(second.toPrecision(7))} mm / ${Number(first.toPrecision(7))} mm`,
    source: "the records of both trains",
    assumes: "The makers' focal lengths and the corrector's factor hold.",
  });
}

/** Matches the stars of two sides; says why where one of them has none. */
export function measureSides(a: ComparisonSide, b: ComparisonSide): MeasuredScale | NoMatch {
  const [geometryA, geometryB] = [a.geometry, b.geometry];
  const focalLengthA = computeNominalFocalLength(a.train.record).value;
  const nominal = computeNominalRatio({ a, b }).value;
  const stars = (side: ComparisonSide) => side.tables[0]?.flags.length ?? 0;
  if (geometryA === null || geometryB === null || focalLengthA === null || nominal === null) {
    return { reason: "tooFewStars", stars: [stars(a), stars(b)] };
  }
  return measureScale(
    { tables: a.tables, geometry: geometryA },
    { tables: b.tables, geometry: geometryB },
    focalLengthA,
    nominal,
  );
}

function toQuantity(
  { value, reach }: Reached,
  unit: Quantity["unit"],
  n: number,
  factor = 1,
  working: Working = {},
): Quantity {
  const [lo, hi] = [(value - reach) * factor, (value + reach) * factor];
  return makeMeasured(value * factor, unit, lo, hi, n, working);
}

const matchedWorking: Working = {
  source: "stars that both sides show, matched by figures of four (Lang et al. 2010, AJ 139:1782)",
  assumes: "The pixel pitches on record are right; the optical axis meets the sensor's middle.",
};

/** The ratio without common stars: from plate solutions on both sides, else from the records. */
function fallBack(
  request: Pick<ComparisonRequest, "a" | "b">,
  nominal: Quantity,
): { ratio: Quantity; from: ScaleResults["from"] } {
  const [solvedA, solvedB] = [readSolvedFocalLength(request.a), readSolvedFocalLength(request.b)];
  if (solvedA !== null && solvedB !== null) {
    const ratio = divideQuantities(solvedB, solvedA, "ratio", {
      formula: "f_b / f_a",
      source: "plate solutions in the headers of both sides, no common stars",
    });
    return { ratio, from: "plate solutions" };
  }
  if (nominal.value === null) return { ratio: nominal, from: "records" };
  const ratio = makeExact(nominal.value, "ratio", {
    source: "the records of both trains, not measured",
    assumes: "The makers' focal lengths and the corrector's factor hold; no common stars were matched.",
  });
  return { ratio, from: "records" };
}

function stateStretch(measured: MeasuredScale): Pick<ScaleResults, "stretch" | "stretchAngle"> {
  const { stretchAlong: along, stretchAcross: across, stars } = measured;
  const size = Math.hypot(along.value, across.value);
  const reach = Math.max(along.reach, across.reach);
  // 5.991 / 3.841: the 95 % points of chi-square for two and for one degree of freedom.
  if (size < reach * Math.sqrt(5.991 / 3.841)) {
    const why = `The scale is the same in all directions within ${writeSmall(200 * reach)} %.`;
    return { stretch: makeUnknown("percent", why), stretchAngle: makeUnknown("deg", why) };
  }
  const angle = (Math.atan2(across.value, along.value) * 90) / Math.PI;
  const turn = (Math.asin(Math.min(1, reach / size)) * 90) / Math.PI;
  const value = angle < 0 ? angle + 180 : angle;
  return {
    stretch: makeMeasured(200 * size, "percent", 200 * (size - reach), 200 * (size + reach), stars),
    stretchAngle: makeMeasured(value, "deg", value - turn, value + turn, stars),
  };
}

function stateMeasured(measured: MeasuredScale, umPerPxB: number) {
  const { stars } = measured;
  const residual = (measured.residualMm * 1000) / umPerPxB;
  const reach = 1.96 * residual * Math.sqrt(1 / (4 * stars));
  return {
    commonStars: stars,
    framePairs: measured.framePairs,
    falseAlarmLog10: measured.logFalseAlarm / Math.LN10,
    mirrored: measured.mirrored,
    residual: makeMeasured(residual, "px", residual - reach, residual + reach, stars),
    distortion: toQuantity(measured.distortion, "percent", stars, 100),
    cornerAngle: makeExact(measured.cornerDeg, "deg"),
    ...stateStretch(measured),
  } satisfies Partial<ScaleResults>;
}

function stateUnmeasured(why: string) {
  return {
    commonStars: 0,
    framePairs: 0,
    falseAlarmLog10: null,
    mirrored: null,
    residual: makeUnknown("px", why),
    distortion: makeUnknown("percent", why),
    cornerAngle: makeUnknown("deg", why),
    stretch: makeUnknown("percent", why),
    stretchAngle: makeUnknown("deg", why),
  } satisfies Partial<ScaleResults>;
}

/** The ratio alone: from common stars, plate solutions or the records, whichever comes first. */
export function findRatio(sides: Pick<ComparisonRequest, "a" | "b">): Quantity {
  const measured = measureSides(sides.a, sides.b);
  if (!isMeasured(measured)) return fallBack(sides, computeNominalRatio(sides)).ratio;
  return toQuantity(measured.ratio, "ratio", measured.stars, 1, matchedWorking);
}

/**
 * Ratio and rotation between the two sides, from the stars that both show; without such stars from plate solutions on
 * both sides, and without those from the records, which `scales.from` says. The ratio is that of the focal lengths on the
 * two optical axes: where the sides' distortion differs, it is another one farther out, by `scales.distortion`.
 */
export function compareScales(
  request: ComparisonRequest,
): Pick<Comparison, "ratio" | "nominalRatio" | "rotation"> & { scales: ScaleResults } {
  const { a, b } = request;
  const nominalRatio = computeNominalRatio(request);
  const measured = measureSides(a, b);
  const matched = isMeasured(measured) ? measured : null;
  const why = isMeasured(measured) ? null : sayNoMatch(measured, a, b);
  const { ratio, from } =
    matched === null
      ? fallBack(request, nominalRatio)
      : {
          ratio: toQuantity(matched.ratio, "ratio", matched.stars, 1, matchedWorking),
          from: "stars" as const,
        };
  const focalLength = computeFocalLengths(chooseAnchor(request), ratio);
  const parts =
    matched === null ? stateUnmeasured(why ?? "") : stateMeasured(matched, b.geometry?.umPerPx ?? Number.NaN);
  const scales: ScaleResults = {
    from,
    why,
    ...parts,
    air: computeAirShare(a, b),
    againstNominal:
      from === "records"
        ? makeUnknown("percent", "The ratio is the nominal one: it was not measured.")
        : compareWithNominal(ratio, nominalRatio),
    focalLength,
    focalRatio: computeFocalRatios(focalLength, a, b),
    imageScale: computeImageScales(focalLength, a, b),
    pixelRatio: computePixelRatio(ratio, a, b),
    reducer: measureReducer(request, ratio, from),
    sentences: [],
  };
  return {
    ratio,
    nominalRatio,
    rotation:
      matched === null ? makeUnknown("deg", why ?? "") : toQuantity(matched.turnDeg, "deg", matched.stars),
    scales: { ...scales, sentences: describeScales(scales, ratio, nominalRatio) },
  };
}
