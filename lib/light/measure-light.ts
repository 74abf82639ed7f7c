import type { SensorGeometry } from "../field/geometry.ts";
import { standardDeviation } from "../maths/statistics.ts";
import type { CellAverage } from "./average-cells.ts";
import { findBrightest, findFullyLitRadius, listLightRings, readCorners } from "./describe-map.ts";
import { fitLightMap, type LightFit, scaleMap } from "./fit-light-map.ts";
import type { CornerName, Estimate, FlatChannel } from "./flat-measurement.ts";
import { outlineFrame, placeCells } from "./light-cells.ts";
import { evaluateRadial } from "./light-map.ts";
import { listCornerPoints } from "./light-path.ts";
import type { CellGrid } from "./reduce-cells.ts";

export interface LightRequest {
  /** Cells of each frame, zero taken off. */
  frames: readonly Float64Array[];
  average: CellAverage;
  grid: CellGrid;
  geometry: SensorGeometry;
}

type MeasuredLight = Omit<
  FlatChannel,
  "channel" | "frames" | "levelAdu" | "levelShare" | "masked" | "transfer"
>;

/**
 * What the map misses besides noise, from simulated flats with dust, gradient and decentred rings: standard errors added in
 * quadrature, percent of the brightest and mm.
 */
const floor = { cornerPercent: 0.1, placeMm: 0.15, radiusMm: 0.05, gradientPercent: 0.15 };
/** Field radii at which the light's profile is kept. */
const profileSteps = 48;
/** Within this of a corner, mm, cells tell how frames differ there. */
const cornerReachMm = 1.5;

/** The smooth map of one plane and what follows from it. */
export function measureLight(request: LightRequest): {
  channel: MeasuredLight;
  masked: { dustSpots: number; dustPercent: number };
  brightestOverMiddle: number;
} {
  const { average, grid, geometry } = request;
  const sensor = { widthMm: geometry.sensorWidthMm, heightMm: geometry.sensorHeightMm };
  const diagonalMm = Math.hypot(sensor.widthMm, sensor.heightMm);
  const outline = outlineFrame(geometry);
  const cells = placeCells(average.light, grid, geometry);
  const fit = fitLightMap(cells, outline, diagonalMm);
  const best = findBrightest(fit.map, outline);
  const map = scaleMap(fit.map, 1 / best.light);
  const drawn = fit.drawn.map((draw) => ({ draw, peak: findBrightest(draw, outline) }));
  const spread = (values: readonly number[]) => standardDeviation(values);
  // A frame that shows a part of the sensor only says nothing of the sensor's corners.
  const whole =
    outline.right - outline.left > 0.98 * sensor.widthMm &&
    outline.upper - outline.lower > 0.98 * sensor.heightMm;
  const frameScatter = whole ? measureFrameScatter(request, cells.xMm, cells.yMm, sensor) : null;
  const corners = whole ? estimateCorners(fit, best.light, drawn, sensor, frameScatter ?? 0) : null;
  const lit = findFullyLitRadius(fit.map, outline, best.light);
  const litDrawn = drawn.map(
    ({ draw, peak }) => findFullyLitRadius(draw, outline, peak.light) ?? diagonalMm / 2,
  );
  return {
    brightestOverMiddle: best.light,
    masked: { dustSpots: fit.dustSpots, dustPercent: 100 * fit.dustShare },
    channel: {
      map,
      corners: corners?.each ?? null,
      falloffPercent: corners?.mean ?? null,
      brightest: {
        x: { value: best.x, error: Math.hypot(spread(drawn.map(({ peak }) => peak.x)), floor.placeMm) },
        y: { value: best.y, error: Math.hypot(spread(drawn.map(({ peak }) => peak.y)), floor.placeMm) },
      },
      ...describeSymmetry(fit, diagonalMm),
      fullyLitRadiusMm:
        lit === null ? null : { value: lit, error: Math.hypot(spread(litDrawn), floor.radiusMm) },
      rings: listLightRings(fit.map, outline, best.light, diagonalMm / 2, profileSteps),
      cellScatterPercent: (100 * fit.cellScatter) / best.light,
      cornerScatterPercent: frameScatter,
    },
  };
}

/**
 * The centre counts as known where it is told to this, mm (less than a ring's usual play), by a curve that falls by this
 * share to the corner: a flatter one bends with ghosts and dust as much as with a ring (chosen).
 */
const centreKnown = { mm: 0.7, share: 0.02 };

function describeSymmetry(fit: LightFit, diagonalMm: number): Pick<MeasuredLight, "gradient" | "symmetry"> {
  const { symmetric } = fit;
  const across = 100 * diagonalMm;
  const { radial, radialStepMm } = symmetric;
  const falls =
    1 - evaluateRadial(radial, radialStepMm, diagonalMm / 2) / evaluateRadial(radial, radialStepMm, 0);
  const known =
    falls > centreKnown.share && Math.max(symmetric.centreError.x, symmetric.centreError.y) < centreKnown.mm;
  const error = (value: number) => Math.hypot(across * value, floor.gradientPercent);
  return {
    gradient: {
      x: { value: across * symmetric.gradient.x, error: error(symmetric.gradientError.x) },
      y: { value: across * symmetric.gradient.y, error: error(symmetric.gradientError.y) },
    },
    symmetry: known
      ? {
          x: { value: symmetric.centre.x, error: symmetric.centreError.x },
          y: { value: symmetric.centre.y, error: symmetric.centreError.y },
        }
      : null,
  };
}

function estimateCorners(
  fit: LightFit,
  brightest: number,
  drawn: readonly { draw: LightFit["map"]; peak: { light: number } }[],
  sensor: { widthMm: number; heightMm: number },
  frameScatter: number,
): { each: Record<CornerName, Estimate>; mean: Estimate } {
  const percent = (map: LightFit["map"], light: number) => {
    const read = readCorners(map, sensor);
    return Object.fromEntries(
      Object.entries(read).map(([corner, value]) => [corner, (100 * value) / light]),
    ) as Record<CornerName, number>;
  };
  const values = percent(fit.map, brightest);
  const all = drawn.map(({ draw, peak }) => percent(draw, peak.light));
  const names = Object.keys(values) as CornerName[];
  const meanOf = (corners: Record<CornerName, number>) =>
    names.reduce((sum, name) => sum + corners[name], 0) / names.length;
  const error = (list: readonly number[]) =>
    Math.hypot(standardDeviation(list), floor.cornerPercent, frameScatter);
  return {
    each: Object.fromEntries(
      names.map((name) => [name, { value: values[name], error: error(all.map((draw) => draw[name])) }]),
    ) as Record<CornerName, Estimate>,
    mean: { value: meanOf(values), error: error(all.map(meanOf)) },
  };
}

/**
 * How much the corners of single frames differ from the mean of all, as the standard error of that mean, percent of the
 * middle: a lamp that drifts or a sky that turns. Null with one frame.
 */
function measureFrameScatter(
  { frames, average }: LightRequest,
  xMm: Float64Array,
  yMm: Float64Array,
  sensor: { widthMm: number; heightMm: number },
): number | null {
  if (frames.length < 2) return null;
  const scatters = listCornerPoints(sensor).map(({ point }) => {
    const near: number[] = [];
    for (let k = 0; k < xMm.length; k++) {
      if (Math.hypot(xMm[k] - point.x, yMm[k] - point.y) < cornerReachMm) near.push(k);
    }
    const means = frames.map((cells, f) => {
      const known = near.map((k) => cells[k] / average.levels[f]).filter(Number.isFinite);
      return known.reduce((sum, value) => sum + value, 0) / Math.max(1, known.length);
    });
    return standardDeviation(means);
  });
  const mean = Math.sqrt(scatters.reduce((sum, value) => sum + value ** 2, 0) / scatters.length);
  return (100 * mean) / Math.sqrt(frames.length);
}
