import { makeProfile, type Profile, readMoffat } from "./profile.ts";
import { readMap, type SmoothMap } from "./smooth-map.ts";

/**
 * How the star profile changes over the frame: a Moffat profile times 1 + a smooth correction in radius, whose
 * coefficients are low-order polynomials of the position. Plain data, so that it travels to worker threads.
 */
export interface ProfileField {
  beta: number;
  widthPx: number;
  heightPx: number;
  /** How many terms of the place are in use: 1, or CHANGING_TERMS. */
  terms: number;
  /** terms x BASES, row-major. */
  coefficients: Float64Array;
  /** ln(width over that of the stars' median) over the frame; null where the profile is the same all over. */
  growth: SmoothMap | null;
}

/** Terms of a profile that changes over the frame: the common one, five polynomials of the place, growth and its square. */
export const CHANGING_TERMS = 8;

/** Cubic B-splines in ln(1 + r^2), which are even in r and spread evenly from core to wings. */
export const BASES = 15;

/** Spacing of the knots: the last one lies at r = 14 half-widths. Chosen: halving it changed no width by 0.1 %. */
const knotSpacing = Math.log(1 + 14 ** 2) / (BASES - 3);

/** Value of the four splines that are not zero at radius squared `u` (half-widths squared), and the first one's index. */
export function readBases(u: number, out: Float64Array): number {
  const position = Math.min(Math.log(1 + u) / knotSpacing, BASES - 3 - 1e-9);
  const first = Math.floor(position);
  const s = position - first;
  const r = 1 - s;
  out[0] = (r * r * r) / 6;
  out[1] = (3 * s * s * s - 6 * s * s + 4) / 6;
  out[2] = (3 * r * r * r - 6 * r * r + 4) / 6;
  out[3] = (s * s * s) / 6;
  return first;
}

/** ln(1 + r^2) at the middle of each spline. */
export function locateBasis(index: number): number {
  return (index - 1) * knotSpacing;
}

/** The position's polynomials (Legendre to second order) at a pixel, as many as `out` holds. */
export function readTerms(
  field: Pick<ProfileField, "widthPx" | "heightPx">,
  x: number,
  y: number,
  out: Float64Array,
): void {
  const u = (2 * x) / field.widthPx - 1;
  const v = (2 * y) / field.heightPx - 1;
  const all = [1, u, v, 1.5 * u * u - 0.5, u * v, 1.5 * v * v - 0.5];
  for (let i = 0; i < out.length; i++) out[i] = all[i];
}

/**
 * Profiles are made for cells of the place, over which the polynomials change little, and for steps of the growth, over
 * which the width that a profile gives changes by some 0.2 % (chosen).
 */
const cellColumns = 9;
const cellRows = 6;
const growthStep = 0.02;

/** A cell of the place and a step of the growth: all stars in it share one profile. */
interface ProfileCell {
  key: number;
  /** Middle of the cell, px. */
  x: number;
  y: number;
  growth: number;
}

function findCell(field: ProfileField, x: number, y: number): ProfileCell {
  const { widthPx, heightPx } = field;
  if (field.terms === 1) return { key: 0, x: widthPx / 2, y: heightPx / 2, growth: 0 };
  const find = (at: number, size: number, count: number) =>
    Math.min(count - 1, Math.max(0, Math.floor((at / size) * count)));
  const column = find(x, widthPx, cellColumns);
  const row = find(y, heightPx, cellRows);
  const step = field.growth === null ? 0 : Math.round(readMap(field.growth, x, y) / growthStep);
  return {
    key: (step * cellRows + row) * cellColumns + column,
    x: ((column + 0.5) / cellColumns) * widthPx,
    y: ((row + 0.5) / cellRows) * heightPx,
    growth: step * growthStep,
  };
}

/**
 * The terms by which a field's profile changes at a pixel, as many as it has; those of the cell whose profile holds there.
 * The learning reads them here too: learned for a star's own place and used at the middle of a cell, a profile that changes
 * over the cell came out wrong, with stars 20 to 50 % wider than the narrowest off by 1.3 % rms; now it is 0.6 %.
 */
export function readFieldTerms(field: ProfileField, x: number, y: number, out: Float64Array): void {
  fillCellTerms(field, findCell(field, x, y), out);
}

function fillCellTerms(field: ProfileField, { x, y, growth }: ProfileCell, out: Float64Array): void {
  readTerms(field, x, y, out.subarray(0, Math.min(6, field.terms)));
  if (field.growth === null) return;
  out[6] = growth;
  out[7] = growth * growth;
}

/** The last field read and its profiles: a thread gets the same field with every job of a round. */
let lastField: ProfileField | undefined;
let lastProfiles = new Map<number, Profile>();

/** Reads the profile at a position; profiles are made where and when they are first asked for. */
export function makeProfileReader(field: ProfileField): (x: number, y: number) => Profile {
  if (lastField === undefined || !equalFields(field, lastField)) {
    lastField = field;
    lastProfiles = new Map();
  }
  const made = lastProfiles;
  return (x, y) => {
    const cell = findCell(field, x, y);
    let profile = made.get(cell.key);
    if (profile === undefined) {
      profile = makeProfile(correctMoffat(field, cell));
      made.set(cell.key, profile);
    }
    return profile;
  };
}

function equalFields(a: ProfileField, b: ProfileField): boolean {
  return (
    a.beta === b.beta &&
    a.widthPx === b.widthPx &&
    a.heightPx === b.heightPx &&
    a.terms === b.terms &&
    equalArrays(a.coefficients, b.coefficients) &&
    equalArrays(a.growth?.coefficients, b.growth?.coefficients)
  );
}

function equalArrays(a: Float64Array | undefined, b: Float64Array | undefined): boolean {
  return a?.length === b?.length && (a === undefined || a.every((value, i) => value === b?.[i]));
}

/** The field's light against radius in a cell, in half-widths of its Moffat profile. */
function correctMoffat(field: ProfileField, cell: ProfileCell): (radius: number) => number {
  const terms = new Float64Array(field.terms);
  fillCellTerms(field, cell, terms);
  const correction = new Float64Array(BASES);
  for (let t = 0; t < field.terms; t++) {
    for (let k = 0; k < BASES; k++) correction[k] += terms[t] * field.coefficients[t * BASES + k];
  }
  const four = new Float64Array(4);
  return (radius) => {
    const u = radius * radius;
    const first = readBases(u, four);
    let factor = 1;
    for (let i = 0; i < 4; i++) factor += four[i] * correction[first + i];
    return readMoffat(u, field.beta) * Math.max(factor, 0);
  };
}
