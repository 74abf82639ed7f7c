import { findLightSigma, sharePixel } from "./pixel-light.ts";
import type { SamplePlane } from "./samples.ts";

/**
 * One bound on how sharp light can be: the pixels at `inner` together never exceed those at `outer` together divided by
 * `least`. It holds for one Gaussian of the given width at any place within a pixel, and so for any sum of wider or
 * fainter ones: crowding, halos and nebulosity only relax it.
 */
export interface SharpnessBound {
  inner: readonly (readonly [number, number])[];
  outer: readonly (readonly [number, number])[];
  least: number;
}

/**
 * Least ratio of outer to inner light over all places of a Gaussian near the inner pixels: found on a grid of a tenth of
 * the pixel, since the pixel's integral moves it off the symmetric place along the diagonals.
 */
function findLeastRatio(
  sigma: number,
  inner: SharpnessBound["inner"],
  outer: SharpnessBound["outer"],
): number {
  const shares = new Map<number, number>();
  const share = (offset: number) => {
    const key = Math.round(10 * offset);
    const known = shares.get(key) ?? sharePixel(key / 10, sigma);
    shares.set(key, known);
    return known;
  };
  const light = (at: SharpnessBound["inner"], cx: number, cy: number) =>
    at.reduce((sum, [x, y]) => sum + share(x - cx) * share(y - cy), 0);
  const middleX = Math.round((10 * inner.reduce((sum, [x]) => sum + x, 0)) / inner.length) / 10;
  const middleY = Math.round((10 * inner.reduce((sum, [, y]) => sum + y, 0)) / inner.length) / 10;
  let least = Number.POSITIVE_INFINITY;
  for (let i = -10; i <= 10; i++) {
    for (let j = -10; j <= 10; j++) {
      const [cx, cy] = [middleX + i / 10, middleY + j / 10];
      least = Math.min(least, light(outer, cx, cy) / light(inner, cx, cy));
    }
  }
  return least;
}

/** A pixel against the two opposite ones at the given step. */
function boundOpposite(sigma: number, dx: number, dy: number): SharpnessBound {
  const inner = [[0, 0]] as const;
  const outer = [
    [dx, dy],
    [-dx, -dy],
  ] as const;
  return { inner, outer, least: findLeastRatio(sigma, inner, outer) };
}

/** A pixel and the next one at a step, together against the two that flank them along the step. */
function boundPair(sigma: number, dx: number, dy: number): SharpnessBound {
  const inner = [
    [0, 0],
    [dx, dy],
  ] as const;
  const outer = [
    [-dx, -dy],
    [2 * dx, 2 * dy],
  ] as const;
  return { inner, outer, least: findLeastRatio(sigma, inner, outer) };
}

/** Steps to the nearest sites of the same plane, one of each pair of opposite directions. */
export function listSiteSteps(sites: SamplePlane["sites"]): readonly (readonly [number, number])[] {
  const count = sites.filter(Boolean).length;
  if (count === 4) {
    return [
      [1, 0],
      [0, 1],
      [1, 1],
      [1, -1],
    ];
  }
  // Green sites touch along the diagonals; those of a colour with one site in a block stand two apart.
  const diagonal = count === 2 ? 1 : 2;
  return [
    [2, 0],
    [0, 2],
    [diagonal, diagonal],
    [diagonal, -diagonal],
  ];
}

/** The bounds that a plane's sites allow to test, for stars no narrower than `fwhmPx` (pixel's integral in it). */
export function listSharpnessBounds(sites: SamplePlane["sites"], fwhmPx: number): SharpnessBound[] {
  const sigma = findLightSigma(fwhmPx);
  return listSiteSteps(sites).flatMap(([dx, dy]) => [
    boundOpposite(sigma, dx, dy),
    boundPair(sigma, dx, dy),
    boundPair(sigma, -dx, -dy),
  ]);
}

/** A breach counts from so many sigmas: 4.5 keeps it under one in 10^5 of the bounds tested. */
const BREACH_SIGMAS = 4.5;
/** Part of a pixel's light by which flat field and profile may be off. */
const MODEL_ERROR = 0.03;

/** Light of the samples at some offsets from (x, y), sky removed; NaN where one is missing. */
function sumLight(
  plane: SamplePlane,
  x: number,
  y: number,
  at: SharpnessBound["inner"],
  sky: number,
): number {
  let light = 0;
  for (let i = 0; i < at.length; i++) {
    const column = x + at[i][0];
    const row = y + at[i][1];
    if (column < 0 || row < 0 || column >= plane.widthPx || row >= plane.heightPx) return Number.NaN;
    if (!plane.sites[(column & 1) + 2 * (row & 1)]) return Number.NaN;
    light += plane.samples[row * plane.widthPx + column] - sky;
  }
  return light;
}

/** Whether the light about pixel (x, y) is sharper than a star can be, beyond its noise `sigmaAdu`. */
export function breachesBound(
  plane: SamplePlane,
  x: number,
  y: number,
  bounds: readonly SharpnessBound[],
  sky: number,
  sigmaAdu: number,
): boolean {
  for (const { inner, outer, least } of bounds) {
    const core = sumLight(plane, x, y, inner, sky);
    const flanks = sumLight(plane, x, y, outer, sky);
    const noise =
      (inner.length * least * least + outer.length) * sigmaAdu * sigmaAdu +
      MODEL_ERROR * MODEL_ERROR * (least * least * core * core + flanks * flanks);
    // Missing samples make both sides NaN: no breach.
    if (least * core - flanks > BREACH_SIGMAS * Math.sqrt(noise)) return true;
  }
  return false;
}
