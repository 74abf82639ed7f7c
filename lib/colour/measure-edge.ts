import type { SamplePlane } from "../stars/samples.ts";
import type { EdgeFrame, EdgeSpread, EdgeStretch } from "./edge-measurement.ts";
import { addEdgeSample, type EdgeBins, makeEdgeBins, measureEdgeSpread } from "./edge-spread.ts";
import { findLimb } from "./find-limb.ts";
import { forEachNear, reachPx, type TracedLimb, traceLimb } from "./trace-limb.ts";

export interface EdgeRequest {
  channels: readonly { channel: string; plane: SamplePlane }[];
  /** The channel that the limb is followed in. */
  main: string;
  arcsecPerPx: number;
  saturationAdu: number;
}

/** The Moon's radius seen from the ground, arcsec: perigee to apogee with 2 % for the observer's own place. */
const moonRadiusArcsec = [865, 1035] as const;
/** A scale on record may be off by this much before the limb is missed. */
const scaleAllowed = 0.1;
/** Cells of 24 px that make a stretch: some 140 px of limb, so that each quarter of a px is hit often. */
const cellsInStretch = 6;
const seed = 20_261_011;

type Found = Pick<EdgeFrame, "circle" | "stretches" | "warnings">;

/** Cells of bright limb in a row, by sixes; a stretch with a gap is left out. */
function listStretches({ cells }: TracedLimb): { first: number }[] {
  const stretches: { first: number }[] = [];
  for (let first = 0; first + cellsInStretch <= cells.length; first += cellsInStretch) {
    if (cells.slice(first, first + cellsInStretch).every(({ bright }) => bright)) stretches.push({ first });
  }
  return stretches;
}

/** The limb's own distance from the circle at an angle, between the middles of cells. */
function offsetAt({ cells }: TracedLimb, angle: number): number {
  const at = (angle / (2 * Math.PI)) * cells.length - 0.5;
  const before = Math.floor(at);
  const wrap = (k: number) => cells[(k + cells.length) % cells.length];
  const [low, high] = [wrap(before), wrap(before + 1)];
  if (!low.bright) return high.offsetPx;
  if (!high.bright) return low.offsetPx;
  return low.offsetPx + (high.offsetPx - low.offsetPx) * (at - before);
}

function readChannel(
  plane: SamplePlane,
  traced: TracedLimb,
  stretches: readonly { first: number }[],
): (EdgeSpread | null)[] {
  const bins = new Map<number, EdgeBins>();
  for (const { first } of stretches) bins.set(first / cellsInStretch, makeEdgeBins(reachPx - 3));
  const { cells, circle } = traced;
  forEachNear(plane, circle, reachPx, (_x, _y, distance, angle, value) => {
    const cell = Math.min(cells.length - 1, Math.floor((angle / (2 * Math.PI)) * cells.length));
    const own = bins.get(Math.floor(cell / cellsInStretch));
    if (own !== undefined) addEdgeSample(own, distance - offsetAt(traced, angle), value);
  });
  return stretches.map(({ first }) => {
    const own = bins.get(first / cellsInStretch);
    return own === undefined ? null : measureEdgeSpread(own);
  });
}

/**
 * Spread and place of the Moon's bright limb in every channel, in stretches of some 140 px along it. Mountains and what the air
 * shook, as far as longer than a few tens of px, are followed in the main channel and taken off in all alike, so that they widen no edge and
 * shift no colour against another. Stretches that some channel does not show are left out.
 */
export function measureEdge(request: EdgeRequest): Found {
  const { channels, main, arcsecPerPx, saturationAdu } = request;
  const reference = channels.find(({ channel }) => channel === main) ?? channels[0];
  const none = (why: string): Found => ({ circle: null, stretches: [], warnings: [why] });
  const [least, most] = moonRadiusArcsec.map((arcsec) => arcsec / arcsecPerPx);
  const start = findLimb(reference.plane, [least * (1 - scaleAllowed), most * (1 + scaleAllowed)], seed);
  if (start === null) {
    return none(
      `No bright border of the Moon’s size was found (its radius is ${least.toFixed(0)} to ${most.toFixed(0)} px at this scale).`,
    );
  }
  const traced = traceLimb(reference.plane, start, saturationAdu);
  const stretches = traced === null ? [] : listStretches(traced);
  if (traced === null || stretches.length === 0)
    return none(
      "The limb found is too short, too dim or saturated: expose so that the disc stays below saturation.",
    );
  const read = channels.map(({ channel, plane }) => ({
    channel,
    spreads: readChannel(plane, traced, stretches),
  }));
  const { circle, cells } = traced;
  const round = (value: number, digits: number) => Number(value.toFixed(digits));
  const measured = stretches.flatMap(({ first }, k): EdgeStretch[] => {
    const spreads = read.map(({ channel, spreads: own }) => ({ channel, spread: own[k] }));
    if (spreads.some(({ spread }) => spread === null)) return [];
    const angle = ((first + cellsInStretch / 2) / cells.length) * 2 * Math.PI;
    return [
      {
        angleDeg: round((-angle * 180) / Math.PI + (angle === 0 ? 0 : 360), 2),
        xPx: round(circle.xPx + circle.radiusPx * Math.cos(angle), 1),
        yPx: round(circle.yPx + circle.radiusPx * Math.sin(angle), 1),
        channels: Object.fromEntries(
          spreads.map(({ channel, spread }) => [
            channel,
            {
              positionPx: round(spread?.positionPx ?? 0, 4),
              spreadPx: round(spread?.spreadPx ?? 0, 4),
              fwhmPx: round(spread?.fwhmPx ?? 0, 4),
              mtf50: round(spread?.mtf50 ?? 0, 5),
            },
          ]),
        ),
      },
    ];
  });
  const rounded = {
    xPx: round(circle.xPx, 2),
    yPx: round(circle.yPx, 2),
    radiusPx: round(circle.radiusPx, 2),
  };
  return measured.length === 0
    ? none("The limb is there, but its edge is too noisy or too uneven to be measured.")
    : { circle: rounded, stretches: measured, warnings: [] };
}
