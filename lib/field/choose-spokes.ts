import type { CropMeasurement } from "../stars/frame-measurement.ts";
import { STAR_FLAGS, type StarTable, UNUSABLE } from "../stars/star-table.ts";
import { CORNERS, computeHalfDiagonalMm, type SensorGeometry } from "./geometry.ts";
import { placeStars } from "./place-stars.ts";

/** Field radii at which a star is wanted on each half-diagonal, beside the one at the centre. */
export const SPOKE_RHOS = [0.25, 0.45, 0.65, 0.85, 0.97] as const;
/** A star may lie this far from the wanted place, as a share of the half-diagonal: half the step between places. */
const reachRho = 0.1;
/** Bright enough for the wings to show: below it noise drowns the outline. */
const dimmestSnr = 30;

const flagsAgainst = UNUSABLE | STAR_FLAGS.partial | STAR_FLAGS.unresolved;

/** Cut-outs show five full widths either side, within bounds that suit a page. Even, so that halves are whole pixels. */
export function chooseCropSide(fwhmPx: number): number {
  return Math.min(96, Math.max(24, 2 * Math.round(fwhmPx * 5)));
}

/** Signal to noise counts up to here: beyond it nearness to the wanted place decides. */
const enoughSnr = 200;

/**
 * Stars to cut out for the spokes: one at the centre and one near each wanted radius on each half-diagonal, unflagged,
 * bright, and wholly on the frame. The same table gives the same choice. A place without a fit star stays empty.
 */
export function chooseSpokes(stars: StarTable, geometry: SensorGeometry): CropMeasurement[] {
  const half = computeHalfDiagonalMm(geometry);
  const places = placeStars(stars, geometry);
  const sidePx = chooseCropSide(medianWidth(stars));
  const wanted = [
    { halfDiagonal: "centre" as const, rho: 0, x: 0, y: 0 },
    ...CORNERS.flatMap((corner) =>
      SPOKE_RHOS.map((rho) => {
        const right = corner.endsWith("Right") ? 1 : -1;
        const up = corner.startsWith("upper") ? 1 : -1;
        const x = (right * rho * geometry.sensorWidthMm) / 2;
        const y = (up * rho * geometry.sensorHeightMm) / 2;
        return { halfDiagonal: corner, rho, x, y };
      }),
    ),
  ];
  const taken = new Set<number>();
  return wanted.flatMap(({ halfDiagonal, rho, x, y }) => {
    let best = -1;
    let bestScore = 0;
    for (let row = 0; row < stars.flags.length; row++) {
      if ((stars.flags[row] & flagsAgainst) !== 0 || taken.has(row) || !(stars.snr[row] >= dimmestSnr))
        continue;
      const away = Math.hypot(places.xMm[row] - x, places.yMm[row] - y) / half / reachRho;
      if (away > 1 || !isInside(stars.xPx[row], stars.yPx[row], sidePx, geometry)) continue;
      const score = Math.min(stars.snr[row], enoughSnr) * (1.2 - away);
      if (score > bestScore) [best, bestScore] = [row, score];
    }
    if (best < 0) return [];
    taken.add(best);
    const name = halfDiagonal === "centre" ? "centre" : `${halfDiagonal}-${Math.round(100 * rho)}`;
    const [xPx, yPx] = [Math.round(stars.xPx[best]), Math.round(stars.yPx[best])];
    return [{ halfDiagonal, file: `crops/${name}.png`, xPx, yPx, sidePx }];
  });
}

function isInside(xPx: number, yPx: number, sidePx: number, geometry: SensorGeometry): boolean {
  const half = sidePx / 2;
  const [x, y] = [Math.round(xPx), Math.round(yPx)];
  return x >= half && y >= half && x + half <= geometry.widthPx && y + half <= geometry.heightPx;
}

function medianWidth(stars: StarTable): number {
  const widths = Float64Array.from(stars.flags, (flags, row) =>
    (flags & flagsAgainst) === 0 ? Math.sqrt(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) : Number.NaN,
  )
    .filter((width) => Number.isFinite(width))
    .sort();
  return widths.length === 0 ? 3 : widths[widths.length >> 1];
}
