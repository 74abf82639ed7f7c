import { prepareBlurGrid, readBlurWidths } from "../field/blur-width.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { type NightLine, readLine } from "./fit-nights.ts";

export interface CornerOptics {
  focalRatio: number;
  obstruction: number;
  wavelengthUm: number;
  /** Width of a star in focus, um, on an ordinary night of the ledger. */
  widthUm: number;
  sensor: { widthMm: number; heightMm: number };
}

/** Share of the half-diagonal that stands for a corner: the middle of the corner zones. */
const cornerShare = 0.9;

const squares = new Float64Array(2);

/**
 * Width of the corners' stars over that of stars in focus at a curvature and astigmatism (um/mm2), with the whole field
 * at its best common focus, no tilt: the blur of wave optics at the corner's two foci.
 */
export function computeCornerRatio(curvature: number, astigmatism: number, optics: CornerOptics): number {
  const { widthMm, heightMm } = optics.sensor;
  const r2 = (cornerShare ** 2 * (widthMm ** 2 + heightMm ** 2)) / 4;
  const mean = curvature * (r2 - (widthMm ** 2 + heightMm ** 2) / 12);
  const half = astigmatism * r2;
  const unit = optics.focalRatio * optics.widthUm;
  const [along, across] = [(mean + half) / unit, (mean - half) / unit];
  const grid = prepareBlurGrid(
    optics.obstruction,
    (optics.wavelengthUm * optics.focalRatio) / optics.widthUm,
  );
  readBlurWidths(grid, Math.abs(along), Math.abs(across) * (along * across < 0 ? -1 : 1), squares);
  return (squares[0] * squares[1]) ** 0.25;
}

/** What the corners will be at a spacing error by the ledger's lines: width over that of a star in focus. */
export function expectCorners(
  lines: { curvature: NightLine | null; astigmatism: NightLine | null },
  spacingMm: number,
  optics: CornerOptics | null,
): Quantity {
  if (lines.curvature === null || lines.astigmatism === null || optics === null) {
    return makeUnknown("ratio", "No focal surface of two nights or more is at hand.");
  }
  const [c, a] = [readLine(lines.curvature, spacingMm), readLine(lines.astigmatism, spacingMm)];
  const value = computeCornerRatio(c.value, a.value, optics);
  const reach = lines.curvature.reach;
  const ends = [-1, 1].flatMap((i) => [
    computeCornerRatio(c.value + i * reach * c.sigma, a.value, optics) - value,
    computeCornerRatio(c.value, a.value + i * reach * a.sigma, optics) - value,
  ]);
  const down = Math.hypot(Math.min(0, ends[0], ends[2]), Math.min(0, ends[1], ends[3]));
  const up = Math.hypot(Math.max(0, ends[0], ends[2]), Math.max(0, ends[1], ends[3]));
  return makeMeasured(value, "ratio", Math.max(1, value - down), value + up, lines.curvature.nights);
}
