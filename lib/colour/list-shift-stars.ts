import { locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import { median } from "../maths/statistics.ts";
import { type FrameTransform, SAME_PLACE } from "../stars/align-frames.ts";
import { combineFrames } from "../stars/combine-frames.ts";
import { matchPositions } from "../stars/match-positions.ts";
import type { StarTable } from "../stars/star-table.ts";
import { indexMatches, matchChannels } from "./match-channels.ts";
import type { ShiftStars } from "./shift-model.ts";

/** Star tables of two channels that belong together: planes of one frame, or frames taken one after the other. */
export interface TablePair {
  of: StarTable;
  against: StarTable;
  /** Lays `of` onto `against`; absent for planes of one frame. */
  transform?: FrameTransform;
  /** Tables of a bluer and a redder channel of the same exposure, for the stars' colours; absent: `of` and `against`. */
  colour?: { blue: StarTable; red: StarTable };
  /** Where the light of some of the stars lies from the fitted places. */
  lean?: { of: ChannelLean; against: ChannelLean };
}

/** One channel's part of a LeanMeasurement, with the stars' places. */
export interface ChannelLean {
  xPx: readonly number[];
  yPx: readonly number[];
  dxPx: readonly number[];
  dyPx: readonly number[];
  errPx: readonly number[];
}

/** Nights of many stars are cut to the brightest: more of the faint add time, not certainty. */
const mostStars = 1500;
/** Colours beyond this, mag from the median, are held there: a wrong match must not swing the slope. */
const farthestColour = 1.5;

interface Listed {
  star: number;
  frame: number;
  xMm: number;
  yMm: number;
  dxUm: number;
  dyUm: number;
  errorUm: number;
  colour: number;
  leanXUm: number;
  leanYUm: number;
  leanErrorUm: number;
}

function computeColour(blue: StarTable, blueRow: number, red: StarTable, redRow: number): number {
  if (blueRow < 0 || redRow < 0) return Number.NaN;
  return -2.5 * Math.log10(blue.fluxAdu[blueRow] / red.fluxAdu[redRow]);
}

/** The stars' colours of one pair of tables by the row of `against`. */
function listColours(pair: TablePair, ofRows: Int32Array): Float64Array {
  const { against, colour } = pair;
  if (colour === undefined)
    return Float64Array.from(against.flags, (_, row) => computeColour(pair.of, ofRows[row], against, row));
  const find = (table: StarTable): Int32Array => {
    if (table === against) return Int32Array.from(against.flags.keys());
    if (table === pair.of) return ofRows;
    return indexMatches(matchChannels(table, against), against);
  };
  const [blue, red] = [find(colour.blue), find(colour.red)];
  return Float64Array.from(against.flags, (_, row) =>
    computeColour(colour.blue, blue[row], colour.red, red[row]),
  );
}

/**
 * Colours less their median and less what follows the field radius: vignetting may differ by colour and would pass for a
 * change of the stars. A star without a colour counts as one of the median.
 */
function centreColours(rows: readonly Listed[]): Float64Array {
  const known = rows.filter(({ colour }) => Number.isFinite(colour));
  if (known.length < rows.length / 2) return new Float64Array(rows.length).fill(Number.NaN);
  const middle = median(known.map(({ colour }) => colour));
  const held = rows.map(({ colour }) =>
    Number.isFinite(colour) ? Math.max(-farthestColour, Math.min(farthestColour, colour - middle)) : 0,
  );
  const squares = rows.map(({ xMm, yMm }) => xMm * xMm + yMm * yMm);
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const [meanHeld, meanSquare] = [mean(held), mean(squares)];
  let [product, square] = [0, 0];
  held.forEach((value, k) => {
    product += (value - meanHeld) * (squares[k] - meanSquare);
    square += (squares[k] - meanSquare) ** 2;
  });
  const slope = square > 0 ? product / square : 0;
  const flat = held.map((value, k) => value - slope * (squares[k] - meanSquare));
  const rest = median(flat);
  return Float64Array.from(flat, (value) => value - rest);
}

/**
 * Every star that both channels could use, with its place, the difference of its places and its colour (blue less red,
 * mag, median taken off). Stars are known again from frame to frame by `combineFrames` of the `against` tables; a pair whose
 * `against` table shows another field gives no rows.
 */
export function listShiftStars(pairs: readonly TablePair[], geometry: SensorGeometry): ShiftStars {
  const combined = combineFrames(pairs.map(({ against }) => against));
  const rows: Listed[] = [];
  combined.matched.forEach((index, frame) => {
    const pair = { ...pairs[index] };
    const whole = pair.against;
    // Colours of one exposure may name the very table that is matched against: it is replaced by its usable rows.
    const against = combined.frames[frame];
    const swap = (table: StarTable): StarTable => (table === whole ? against : table);
    const usable: TablePair = {
      ...pair,
      against,
      ...(pair.colour === undefined
        ? {}
        : { colour: { blue: swap(pair.colour.blue), red: swap(pair.colour.red) } }),
    };
    const matched = matchChannels(pair.of, against, pair.transform);
    const ofRows = indexMatches(matched, against);
    const colours = listColours(usable, ofRows);
    const readLean = makeLeanReader(usable, geometry.umPerPx);
    const names = nameStars(combined.rows[frame], against.flags.length);
    for (let row = 0; row < ofRows.length; row++) {
      if (ofRows[row] < 0 || names[row] < 0) continue;
      const listed = placePair(usable, row, ofRows[row], geometry);
      const lean = readLean(row, ofRows[row]);
      rows.push({ ...listed, ...lean, star: names[row], frame, colour: colours[row] });
    }
  });
  return toColumns(cutToBrightest(rows));
}

/** Number of the combined star of each row. */
function nameStars(rowOfStar: Int32Array, length: number): Int32Array {
  const names = new Int32Array(length).fill(-1);
  rowOfStar.forEach((row, star) => {
    if (row >= 0) names[row] = star;
  });
  return names;
}

/** Stars of a LeanMeasurement are lone, so that the nearest one within this is the star, whichever channel gave its place. */
const leanRadiusPx = 4;

const noLean = { leanXUm: Number.NaN, leanYUm: Number.NaN, leanErrorUm: Number.NaN };

/** By how much the two channels' light differs more in place than the fits, for the rows of a pair; NaN where not measured. */
function makeLeanReader({ of, against, lean }: TablePair, umPerPx: number) {
  if (lean === undefined) return () => noLean;
  const ofIndex = matchPositions(lean.of, of, SAME_PLACE, leanRadiusPx);
  const againstIndex = matchPositions(lean.against, against, SAME_PLACE, leanRadiusPx);
  return (row: number, ofRow: number): typeof noLean => {
    const [a, b] = [ofIndex[ofRow], againstIndex[row]];
    if (a < 0 || b < 0) return noLean;
    return {
      leanXUm: (lean.of.dxPx[a] - lean.against.dxPx[b]) * umPerPx,
      leanYUm: -(lean.of.dyPx[a] - lean.against.dyPx[b]) * umPerPx,
      leanErrorUm: Math.hypot(lean.of.errPx[a], lean.against.errPx[b]) * umPerPx,
    };
  };
}

function placePair(pair: TablePair, row: number, ofRow: number, geometry: SensorGeometry) {
  const { of, against } = pair;
  const place = locateOnSensor(geometry, against.xPx[row], against.yPx[row]);
  const um = geometry.umPerPx;
  const error2 = (table: StarTable, k: number) => (table.xErrPx[k] ** 2 + table.yErrPx[k] ** 2) / 2;
  return {
    xMm: place.x,
    yMm: place.y,
    dxUm: (of.xPx[ofRow] - against.xPx[row]) * um,
    dyUm: -(of.yPx[ofRow] - against.yPx[row]) * um,
    errorUm: um * Math.sqrt(error2(of, ofRow) + error2(against, row)),
  };
}

/** Combined stars are numbered from the brightest on. */
function cutToBrightest(rows: readonly Listed[]): Listed[] {
  const usable = rows.filter(({ errorUm, dxUm, dyUm }) => Number.isFinite(errorUm + dxUm + dyUm));
  const names = [...new Set(usable.map(({ star }) => star))].sort((a, b) => a - b);
  const last = names[mostStars] ?? Number.POSITIVE_INFINITY;
  return usable.filter(({ star }) => star < last);
}

function toColumns(rows: readonly Listed[]): ShiftStars {
  const frames = [...new Set(rows.map(({ frame }) => frame))].sort((a, b) => a - b);
  const read = (pick: (row: Listed) => number): Float64Array => Float64Array.from(rows, pick);
  return {
    star: Int32Array.from(rows, ({ star }) => star),
    frame: Int32Array.from(rows, ({ frame }) => frames.indexOf(frame)),
    xMm: read(({ xMm }) => xMm),
    yMm: read(({ yMm }) => yMm),
    dxUm: read(({ dxUm }) => dxUm),
    dyUm: read(({ dyUm }) => dyUm),
    errorUm: read(({ errorUm }) => errorUm),
    colour: centreColours(rows),
    leanXUm: read(({ leanXUm }) => leanXUm),
    leanYUm: read(({ leanYUm }) => leanYUm),
    leanErrorUm: read(({ leanErrorUm }) => leanErrorUm),
  };
}
