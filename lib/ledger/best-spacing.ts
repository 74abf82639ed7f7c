import { type Estimate, fitNights, locateZero, type NightLine, readLine } from "./fit-nights.ts";
import type { LedgerNight } from "./night.ts";

export interface BestSpacing {
  /** Lines of curvature and astigmatism (um/mm2) and of the corners' radial elongation (ratio). */
  curvature: NightLine | null;
  astigmatism: NightLine | null;
  radial: NightLine | null;
  /** Spacing error at which the corners are best, mm; lo and hi null where no finite interval holds it. */
  best: { value: number; lo: number | null; hi: number | null; from: "surface" | "radial" } | null;
  nights: number;
  spacings: number;
}

/** Spacings closer than this are one spacing. */
const samePlaceMm = 0.02;

export function countSpacings(spacings: readonly number[]): number {
  const sorted = [...spacings].sort((a, b) => a - b);
  return sorted.filter((value, k) => k === 0 || value - sorted[k - 1] > samePlaceMm).length;
}

/**
 * The spacing at which the corners are best: where the blur that curvature and astigmatism put into a corner is least.
 * With the middle in focus its variance is that of z_T and z_S, in proportion to c^2 + A^2; both c and A are straight
 * lines in the spacing error s, so the least lies where the part of (c, A) along its direction of change is zero: the
 * crossing of one line, c1 c(s) + A1 A(s), with Fieller's interval. That the direction itself is only measured widens
 * the interval by A's rest times its uncertainty.
 *
 * Where the nights carry no focal surface, the corners' radial elongation takes its place: it changes sign with the
 * corners' focus, and the mean of four corners does not feel a tilt in first order.
 */
export function findBestSpacing(nights: readonly LedgerNight[]): BestSpacing {
  const placed = nights.filter(({ spacingMm }) => spacingMm !== null);
  const withSurface = placed.flatMap(({ spacingMm, surface }) =>
    surface === null ? [] : [{ s: spacingMm as number, c: surface.curvature, a: surface.astigmatism }],
  );
  const withRadial = placed.flatMap(({ spacingMm, radial }) =>
    radial === null ? [] : [{ s: spacingMm as number, radial }],
  );
  const radial = fitNights(
    withRadial.map(({ s }) => s),
    withRadial.map((night) => night.radial),
  );
  const s = withSurface.map((night) => night.s);
  const curvature = fitNights(
    s,
    withSurface.map(({ c }) => c),
  );
  const astigmatism = fitNights(
    s,
    withSurface.map(({ a }) => a),
  );
  const bySurface =
    curvature === null || astigmatism === null ? null : crossSurface(withSurface, curvature, astigmatism);
  const byRadial = radial === null ? null : crossRadial(radial);
  const list = bySurface === null ? withRadial : withSurface;
  return {
    curvature,
    astigmatism,
    radial,
    best: bySurface ?? byRadial,
    nights: list.length,
    spacings: countSpacings(list.map((night) => night.s)),
  };
}

function crossSurface(
  nights: readonly { s: number; c: Estimate; a: Estimate }[],
  curvature: NightLine,
  astigmatism: NightLine,
): BestSpacing["best"] {
  const size = Math.hypot(curvature.perMm, astigmatism.perMm);
  if (size === 0) return null;
  const [u, v] = [curvature.perMm / size, astigmatism.perMm / size];
  const along = fitNights(
    nights.map(({ s }) => s),
    nights.map(({ c, a }) => ({
      value: u * c.value + v * a.value,
      sigma: Math.hypot(u * c.sigma, v * a.sigma),
    })),
  );
  if (along === null) return null;
  const zero = locateZero(along);
  const rest = v * readLine(curvature, zero.x).value - u * readLine(astigmatism, zero.x).value;
  const turn = Math.sqrt(v * v * curvature.variancePerMm + u * u * astigmatism.variancePerMm) / size;
  const more = (along.reach * Math.abs(rest) * turn) / size;
  if (!zero.finite) return { value: zero.x, lo: null, hi: null, from: "surface" };
  return {
    value: zero.x,
    lo: zero.x - Math.hypot(zero.x - zero.lo, more),
    hi: zero.x + Math.hypot(zero.hi - zero.x, more),
    from: "surface",
  };
}

function crossRadial(line: NightLine): BestSpacing["best"] {
  const zero = locateZero(line);
  if (!zero.finite) return { value: zero.x, lo: null, hi: null, from: "radial" };
  return { value: zero.x, lo: zero.lo, hi: zero.hi, from: "radial" };
}
