import type { TestResults } from "../report/results.ts";
import { toQuantity } from "./estimate-centre.ts";
import { computeHalfDiagonalMm } from "./geometry.ts";
import { FEWEST_FOR_INTERVAL } from "./median-interval.ts";
import type { PlacedStars } from "./place-stars.ts";
import { estimateMeasure, STAR_MEASURES } from "./star-measures.ts";

/** Eight rings are as many as some hundred stars fill with a dozen or more each. */
const rings = 8;

/**
 * Width, radial elongation and ellipticity in eight rings of equal breadth in rho, from the centre to the very corner.
 * `rho` and `rMm` are the rings' middles. A ring with fewer than six stars has quantities without a value.
 */
export function measureRadialProfile(placed: PlacedStars): NonNullable<TestResults["radialProfile"]> {
  const half = computeHalfDiagonalMm(placed.geometry);
  const rows = Array.from({ length: rings }, (): number[] => []);
  placed.places.rho.forEach((rho, row) => {
    const ring = Math.floor(rho * rings);
    if (ring < rings) rows[ring].push(row);
  });
  const rho = rows.map((_, ring) => (ring + 0.5) / rings);
  const why = (ring: number) =>
    `${rows[ring].length} stars lie in this ring; an interval needs ${FEWEST_FOR_INTERVAL}.`;
  const measure = (ring: number, name: keyof typeof STAR_MEASURES) =>
    estimateMeasure(placed, rows[ring], STAR_MEASURES[name]);
  return {
    rho,
    rMm: rho.map((value) => value * half),
    stars: rows.map((list) => list.length),
    fwhmUm: rho.map((_, ring) =>
      toQuantity(measure(ring, "fwhm"), "um", why(ring), placed.geometry.umPerPx, 0),
    ),
    radial: rho.map((_, ring) => toQuantity(measure(ring, "radial"), "ratio", why(ring))),
    ellipticity: rho.map((_, ring) => toQuantity(measure(ring, "ellipticity"), "ratio", why(ring), 1, 0)),
  };
}
