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

/** The terms by which a field's profile changes at a pixel, as many as it has. */
export function readFieldTerms(field: ProfileField, x: number, y: number, out: Float64Array): void {
  readTerms(field, x, y, out.subarray(0, Math.min(6, field.terms)));
  if (field.growth === null) return;
  const growth = readMap(field.growth, x, y);
  out[6] = growth;
  out[7] = growth * growth;
}

/** Cells for which a profile is made: over one the width it gives changes by less than 0.05 % on frames whose corners
 * are twice as wide as their centre. */
const cellColumns = 18;
const cellRows = 12;

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
  const columns = field.terms === 1 ? 1 : cellColumns;
  const rows = field.terms === 1 ? 1 : cellRows;
  const findCell = (at: number, size: number, count: number) =>
    Math.min(count - 1, Math.max(0, Math.floor((at / size) * count)));
  return (x, y) => {
    const column = findCell(x, field.widthPx, columns);
    const row = findCell(y, field.heightPx, rows);
    const key = row * columns + column;
    let profile = made.get(key);
    if (profile === undefined) {
      const centreX = ((column + 0.5) / columns) * field.widthPx;
      const centreY = ((row + 0.5) / rows) * field.heightPx;
      profile = makeProfile(correctMoffat(field, centreX, centreY));
      made.set(key, profile);
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

/** The field's light against radius at a position, in half-widths of its Moffat profile. */
function correctMoffat(field: ProfileField, x: number, y: number): (radius: number) => number {
  const terms = new Float64Array(field.terms);
  readFieldTerms(field, x, y, terms);
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
