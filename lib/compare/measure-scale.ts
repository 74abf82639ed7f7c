import { locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import { computeStudentQuantile } from "../maths/distributions.ts";
import { remember } from "../maths/remember.ts";
import { mean, median } from "../maths/statistics.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { FieldMap, MapFrame } from "./field-map.ts";
import { type CommonStars, type FittedMap, fitFieldMap } from "./fit-field-map.ts";
import { isMatch, matchStars, type NoMatch, type StarMatch } from "./match-stars.ts";
import { makeSkyList, type SkyList, takeBrightest } from "./sky-list.ts";

/** What measuring needs of a side: its stars frame by frame, and where pixels lie on the sensor. */
export interface ScaleSide {
  tables: readonly StarTable[];
  geometry: SensorGeometry;
}

/** A number with the reach of its 95 % interval to either side. */
export interface Reached {
  value: number;
  reach: number;
}

export interface MeasuredScale {
  /** Focal length of b over that of a on the optical axes. */
  ratio: Reached;
  /** Degrees counter-clockwise as displayed that turn a into b, from -180 to 180. */
  turnDeg: Reached;
  /** Share by which b's radii are longer than the ratio alone makes them, against a's, at `cornerDeg` from the axis. */
  distortion: Reached;
  cornerDeg: number;
  /** Stretch of b against a along 0 and along 45 degrees, shares; their mean over all directions is 0. */
  stretchAlong: Reached;
  stretchAcross: Reached;
  mirrored: boolean;
  /** Common stars of the pair of frames that has most, and pairs of frames used. */
  stars: number;
  framePairs: number;
  /** Distance of stars from the map along each axis, mm on b. */
  residualMm: number;
  /** Natural logarithm of the chance that unrelated fields look as alike. */
  logFalseAlarm: number;
}

/** Pairs of frames compared, spread over both series: enough to see what changes from frame to frame. */
const mostFramePairs = 3;
/** The brightest stars of a frame; fainter ones add time, not precision. */
const mostStars = 3000;
/** What centroids of bright stars scatter by in practice, px: the seeing moves stars against each other (chosen). */
const floorPx = 0.02;

function convertToMm(list: SkyList, geometry: SensorGeometry, rows: readonly number[]) {
  const places = rows.map((row) => locateOnSensor(geometry, list.x[row], -list.y[row]));
  return {
    x: Float64Array.from(places, ({ x }) => x),
    y: Float64Array.from(places, ({ y }) => y),
  };
}

function fitPair(
  a: SkyList,
  b: SkyList,
  sides: { a: SensorGeometry; b: SensorGeometry },
  match: StarMatch,
  frame: MapFrame,
  nominalRatio: number,
): FittedMap | null {
  const [pitchA, pitchB] = [sides.a.umPerPx / 1000, sides.b.umPerPx / 1000];
  const stars: CommonStars = {
    a: convertToMm(
      a,
      sides.a,
      match.pairs.map(([row]) => row),
    ),
    b: convertToMm(
      b,
      sides.b,
      match.pairs.map(([, row]) => row),
    ),
    error: Float64Array.from(match.pairs, ([rowA, rowB]) =>
      Math.hypot(a.error[rowA] * pitchA * nominalRatio, Math.hypot(b.error[rowB], floorPx) * pitchB),
    ),
  };
  return fitFieldMap(stars, frame);
}

/** Places in a series of `length` frames, `count` of them spread from first to last. */
function spreadOver(length: number, count: number): number[] {
  if (count === 1) return [0];
  return Array.from({ length: count }, (_, k) => Math.round((k * (length - 1)) / (count - 1)));
}

interface FittedPair {
  fitted: FittedMap;
  match: StarMatch;
}

/** Mean over the pairs of frames; the interval holds the stars' own share and how the pairs differ. */
function averagePairs(
  pairs: readonly FittedPair[],
  read: (fitted: FittedMap) => { value: number; error: number },
): Reached {
  const values = pairs.map(({ fitted }) => read(fitted));
  const n = values.length;
  const value = mean(values.map((one) => one.value));
  const freedom = Math.max(1, Math.min(...pairs.map(({ match }) => 2 * match.pairs.length - 4)));
  // Distortion that few stars leave open is the same in all pairs: no gain from their number is claimed.
  const noise2 = mean(values.map(({ error }) => error * error));
  const own = computeStudentQuantile(0.975, freedom) * Math.sqrt(noise2);
  if (n < 2) return { value, reach: own };
  const between = values.reduce((sum, one) => sum + (one.value - value) ** 2, 0) / (n - 1);
  const frames = computeStudentQuantile(0.975, n - 1) * Math.sqrt(Math.max(0, between - noise2) / n);
  return { value, reach: Math.hypot(own, frames) };
}

/** The turn in degrees near a given one, so that turns about 180 degrees can be averaged. */
function unwrap(turn: number, near: number): number {
  return turn - 2 * Math.PI * Math.round((turn - near) / (2 * Math.PI));
}

/** Tangent of the field angle of the smaller of both half-diagonals: both sides see the sky out to there. */
function findReferenceTangent(
  a: SensorGeometry,
  b: SensorGeometry,
  focalLengthMm: number,
  ratio: number,
): number {
  const half = (geometry: SensorGeometry) => Math.hypot(geometry.sensorWidthMm, geometry.sensorHeightMm) / 2;
  return Math.min(half(a) / focalLengthMm, half(b) / (focalLengthMm * ratio));
}

/**
 * Measures how the sky of side a falls on side b from the stars that both show. Up to three pairs of frames are matched.
 *
 * @param focalLengthMm - of a, right to a few percent: the size of the field on the sphere follows from it
 * @param nominalRatio - focal length of b over that of a on record, for weights only
 */
export function measureScale(
  a: ScaleSide,
  b: ScaleSide,
  focalLengthMm: number,
  nominalRatio: number,
): MeasuredScale | NoMatch {
  const count = Math.min(mostFramePairs, a.tables.length, b.tables.length);
  const lists = (side: ScaleSide) =>
    (count === 0 ? [] : spreadOver(side.tables.length, count)).map((place) =>
      takeBrightest(
        makeSkyList(side.tables[place], side.geometry.widthPx, side.geometry.heightPx),
        mostStars,
      ),
    );
  const [listsA, listsB] = [lists(a), lists(b)];
  const referenceTangent = findReferenceTangent(a.geometry, b.geometry, focalLengthMm, nominalRatio);
  const fitted: FittedPair[] = [];
  let none: NoMatch = { reason: "tooFewStars", stars: [0, 0] };
  for (let k = 0; k < count; k++) {
    const match = remember("compare/match-stars", matchStars, listsA[k], listsB[k]);
    if (!isMatch(match)) {
      none = match;
      continue;
    }
    const frame = { focalLengthMm, referenceTangent, mirrored: match.mirrored };
    const sides = { a: a.geometry, b: b.geometry };
    const map = remember(
      "compare/measure-scale",
      fitPair,
      listsA[k],
      listsB[k],
      sides,
      match,
      frame,
      nominalRatio,
    );
    if (map !== null) fitted.push({ fitted: map, match });
  }
  const agreeing = fitted.filter(({ match }) => match.mirrored === fitted[0].match.mirrored);
  return agreeing.length === 0 ? none : summarise(agreeing, referenceTangent);
}

function summarise(pairs: readonly FittedPair[], referenceTangent: number): MeasuredScale {
  const own = (name: keyof FieldMap) => (fitted: FittedMap) => ({
    value: fitted.map[name],
    error: fitted.errors[name],
  });
  const first = pairs[0].fitted.map.turn;
  const turn = averagePairs(pairs, (fitted) => ({
    value: (unwrap(fitted.map.turn, first) * 180) / Math.PI,
    error: (fitted.errors.turn * 180) / Math.PI,
  }));
  return {
    ratio: averagePairs(pairs, own("ratio")),
    turnDeg: { ...turn, value: turn.value - 360 * Math.round(turn.value / 360) },
    distortion: averagePairs(pairs, (fitted) => ({
      value: (1 + fitted.map.distortionB) / (1 + fitted.map.distortionA) - 1,
      error: fitted.distortionError,
    })),
    cornerDeg: (Math.atan(referenceTangent) * 180) / Math.PI,
    stretchAlong: averagePairs(pairs, own("stretchAlong")),
    stretchAcross: averagePairs(pairs, own("stretchAcross")),
    mirrored: pairs[0].match.mirrored,
    stars: Math.max(...pairs.map(({ match }) => match.pairs.length)),
    framePairs: pairs.length,
    residualMm: median(pairs.map(({ fitted }) => fitted.residualMm)),
    logFalseAlarm: Math.max(...pairs.map(({ match }) => match.logFalseAlarm)),
  };
}

export function isMeasured(found: MeasuredScale | NoMatch): found is MeasuredScale {
  return "ratio" in found;
}
