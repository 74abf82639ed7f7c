import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import { findDust } from "./find-dust.ts";
import { fitMesh } from "./fit-mesh.ts";
import { evaluateSymmetric, fitSymmetric, type SymmetricFit } from "./fit-symmetric.ts";
import type { LightMap } from "./flat-measurement.ts";
import type { LightCells } from "./light-cells.ts";

export interface LightFit {
  /** Not yet scaled to 1 at its brightest point. */
  map: LightMap;
  symmetric: SymmetricFit;
  /** Scatter of single cells about the map, share of the light in the middle. */
  cellScatter: number;
  dustSpots: number;
  /** Share of the cells that lie in dust shadows. */
  dustShare: number;
  /** Maps as wrong as this one may be, the same ones every time. */
  drawn: LightMap[];
}

/**
 * Knots of the mesh along the sensor's diagonal: while dust is looked for, coarse enough not to follow it; in the end fine
 * enough to bend where a ring begins to cut in the last half millimetre of a corner.
 */
const meshKnots = { dust: 56, light: 80 };
/** Cells that each knot rests on at least, along a side: small frames have fewer knots. */
const cellsPerKnot = { dust: 5, light: 3.5 };
/** Times the dust is looked for, each time against a map that knows of more of it. */
const dustPasses = 3;
const draws = 120;
const seed = 260_401;

/**
 * The smooth map of the light from averaged cells: a symmetric curve times a plane, and a mesh for what that leaves, the
 * shadows of dust masked. The curve lets the map bend where a ring begins to cut; the mesh takes what is not symmetric.
 */
export function fitLightMap(
  cells: LightCells,
  outline: { left: number; right: number; lower: number; upper: number },
  diagonalMm: number,
): LightFit {
  const reachMm = Math.max(
    ...[outline.left, outline.right].flatMap((x) =>
      [outline.lower, outline.upper].map((y) => Math.hypot(x, y)),
    ),
  );
  const stepMm = Math.max(diagonalMm / meshKnots.dust, cellsPerKnot.dust * cells.stepMm);
  let masked = new Uint8Array(cells.light.length);
  let dustSpots = 0;
  let symmetric: SymmetricFit | null = null;
  let sigma = 0;
  for (let pass = 0; pass < dustPasses; pass++) {
    symmetric = fitSymmetric(cells, masked, diagonalMm / 2, reachMm, symmetric);
    const first = fitMesh(cells, subtractSymmetric(cells, symmetric), masked, stepMm, outline);
    sigma = first.sigma;
    const dust = findDust(cells, first.residuals);
    masked = masked.map((value, k) => (value !== 0 || dust.masked[k] !== 0 ? 1 : 0));
    dustSpots = Math.max(dustSpots, dust.spots);
  }
  symmetric = fitSymmetric(cells, masked, diagonalMm / 2, reachMm, symmetric);
  const rest = subtractSymmetric(cells, symmetric);
  const held = chooseHold(cells, rest, masked, sigma);
  const fineMm = Math.max(diagonalMm / meshKnots.light, cellsPerKnot.light * cells.stepMm);
  const fine = fitMesh(cells, rest, masked, fineMm, outline, held);
  const base = {
    centre: symmetric.centre,
    gradient: symmetric.gradient,
    radialStepMm: symmetric.radialStepMm,
    radial: [...symmetric.radial],
  };
  const normal = makeNormalRandom(makeRandom(seed));
  const { widening } = compareBlocks(cells, fine.residuals, masked, fine.sigma);
  const size = fine.mesh.values.length;
  const drawn = Array.from({ length: draws }, () => {
    const normals = Float64Array.from({ length: size }, () => widening * normal());
    return { ...base, mesh: { ...fine.mesh, values: [...fine.draw(normals)] } };
  });
  return {
    map: { ...base, mesh: fine.mesh },
    symmetric,
    cellScatter: fine.sigma,
    dustSpots,
    dustShare: masked.reduce((sum, value) => sum + value, 0) / masked.length,
    drawn,
  };
}

function subtractSymmetric(cells: LightCells, fit: SymmetricFit): Float64Array {
  return cells.light.map((light, k) => light - evaluateSymmetric(fit, cells.xMm[k], cells.yMm[k]));
}

/** Side of the blocks by which neighbouring cells are asked whether they err together, cells. */
const block = 4;
/** Parts of the frame along each side of which each is asked by itself: a ring may cut in one corner only. */
const sixths = 12;

/**
 * What cells of a block have in common beyond their own scatter: `shared` is its variance where it is most, `widening` how much wider than
 * independent cells make it the error of a mean is.
 */
function compareBlocks(cells: LightCells, residuals: Float64Array, masked: Uint8Array, sigma: number) {
  let [sum, blocks] = [0, 0];
  const parts = new Map<string, { excess: number; blocks: number }>();
  for (let top = 0; top + block <= cells.rows; top += block) {
    for (let left = 0; left + block <= cells.columns; left += block) {
      let [total, n] = [0, 0];
      for (let row = top; row < top + block; row++) {
        for (let column = left; column < left + block; column++) {
          const k = row * cells.columns + column;
          if (masked[k] !== 0 || Number.isNaN(residuals[k])) continue;
          total += residuals[k];
          n++;
        }
      }
      if (n < (block * block) / 2) continue;
      sum += (total * total) / n;
      blocks++;
      const name = `${Math.floor((sixths * top) / cells.rows)} ${Math.floor((sixths * left) / cells.columns)}`;
      const part = parts.get(name) ?? { excess: 0, blocks: 0 };
      parts.set(name, {
        excess: part.excess + (total / n) ** 2 - sigma ** 2 / n,
        blocks: part.blocks + 1,
      });
    }
  }
  const shared = Math.max(0, ...[...parts.values()].map((part) => part.excess / part.blocks));
  return { widening: blocks === 0 ? 1 : Math.max(1, Math.sqrt(sum / blocks) / sigma), shared };
}

/**
 * Weight by which the mesh is drawn to zero, from what the symmetric part leaves over (an empirical prior, after Efron &
 * Morris 1973): nothing but noise left, and the mesh adds none; a corner that departs, and it is free to follow.
 */
function chooseHold(cells: LightCells, rest: Float64Array, masked: Uint8Array, sigma: number): number {
  const { shared } = compareBlocks(cells, rest, masked, sigma);
  return sigma ** 2 / Math.max(shared, 1e-10);
}

/** The map times a factor. */
export function scaleMap(map: LightMap, factor: number): LightMap {
  return {
    ...map,
    radial: map.radial.map((value) => value * factor),
    mesh: { ...map.mesh, values: map.mesh.values.map((value) => value * factor) },
  };
}
