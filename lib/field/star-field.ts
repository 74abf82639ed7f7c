import type { TestResults } from "../report/results.ts";
import { computeHalfDiagonalMm } from "./geometry.ts";
import type { PlacedStars } from "./place-stars.ts";
import { STAR_MEASURES } from "./star-measures.ts";

/** As many short lines as a figure of a page's width can still show apart. */
const mostListed = 1500;
/** Cells across the half-diagonal when thinning: about 800 cells on a 3 : 2 sensor, two stars in each. */
const cellsToHalfDiagonal = 20;

/** Deals the cells' stars out in turns, the brightest of every cell first, until enough are chosen. */
function thinEvenly(placed: PlacedStars, rows: readonly number[]): number[] {
  if (rows.length <= mostListed) return [...rows];
  const side = computeHalfDiagonalMm(placed.geometry) / cellsToHalfDiagonal;
  const cells = new Map<string, number[]>();
  for (const row of rows) {
    const name = `${Math.floor(placed.places.xMm[row] / side)} ${Math.floor(placed.places.yMm[row] / side)}`;
    const cell = cells.get(name);
    if (cell === undefined) cells.set(name, [row]);
    else cell.push(row);
  }
  const chosen: number[] = [];
  for (let turn = 0; chosen.length < mostListed; turn++) {
    const round = [...cells.values()].flatMap((cell) => (turn < cell.length ? [cell[turn]] : []));
    // A round that does not fit whole is spread over the field by an even step through the cells.
    const room = mostListed - chosen.length;
    if (round.length <= room) chosen.push(...round);
    else for (let i = 0; i < room; i++) chosen.push(round[Math.floor((i * round.length) / room)]);
  }
  return chosen.sort((left, right) => left - right);
}

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

/**
 * The usable stars as short columns for the page, brightest first, at most 1500, thinned evenly over the sensor and
 * always in the same way; `total` is how many there were. Rounded well below what one star's fit can tell.
 */
export function listStarField(placed: PlacedStars): NonNullable<TestResults["starField"]> {
  const { combined, places, geometry } = placed;
  const { stars } = combined;
  const measured: number[] = [];
  for (let row = 0; row < stars.flags.length; row++) {
    if (Number.isFinite(stars.fwhmMajorPx[row] + stars.fwhmMinorPx[row])) measured.push(row);
  }
  const rows = thinEvenly(placed, measured);
  const list = (read: (row: number) => number, digits: number) => rows.map((row) => round(read(row), digits));
  return {
    xMm: list((row) => places.xMm[row], 4),
    yMm: list((row) => places.yMm[row], 4),
    fwhmUm: list((row) => STAR_MEASURES.fwhm(stars, row) * geometry.umPerPx, 3),
    ellipticity: list((row) => STAR_MEASURES.ellipticity(stars, row), 4),
    angleDeg: list((row) => stars.angleDeg[row], 1),
    radial: list((row) => places.radial[row], 4),
    snr: list((row) => (Number.isFinite(stars.snr[row]) ? stars.snr[row] : 0), 1),
    frames: rows.map((row) => combined.frameCount[row]),
    total: measured.length,
  };
}
