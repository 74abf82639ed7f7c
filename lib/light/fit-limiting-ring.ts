import { type Aperture, type Beam, computeCornerShare, computeLightShare } from "./light-path.ts";
import type { LightPath } from "./list-apertures.ts";
import { replaceDiameter } from "./size-ring.ts";

/** The ring whose own diameter brings the profile of the rings nearest to the measured one. */
export interface RingFit {
  place: number;
  clearDiameterMm: number;
  /** Diameters that fit nearly as well, exit pupil free within its range. */
  lo: number;
  hi: number;
  /** Profile measured minus fitted, rms, percent. */
  rmsPercent: number;
  /** The same for the best diameter of every ring. */
  rmsOfEach: number[];
}

/** Radii at which profiles are compared, and the least loss at the corner that tells rings apart, percent (chosen). */
const points = 24;
const leastLoss = 3;
const directions = 12;
/** Residuals that differ by less are the same, percent: the map's own scatter from radius to radius. */
const equallyGood = 0.03;
/** Exit pupils tried between telecentric and the nearest, evenly in 1 / L. */
const pupils = 7;

/**
 * Each ring in turn is given a clear diameter of its own, the others staying as on record, and with it the profile of
 * the light is fitted: an own fall-off 1 - q (r / R)2 of the telescope besides, exit pupil free within its range. The ring
 * that then takes most is the one whose edge the light shows; where its own fit is worse, that with the smallest residual. Null where the corners lose less than 3 %.
 */
export function fitLimitingRing(
  profile: { rMm: readonly number[]; mean: readonly number[] },
  path: LightPath,
  sensor: { widthMm: number; heightMm: number },
): RingFit | null {
  const half = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
  const measured = pickPoints(profile, half);
  if (measured.length < 8 || measured[measured.length - 1].light > 100 - leastLoss) return null;
  const beams = listBeams(path);
  const fits = path.apertures.map((aperture, place) => {
    const rms = (diameter: number) =>
      Math.min(
        ...beams.map((beam) =>
          compareProfile(measured, beam, replaceDiameter(path.apertures, place, diameter), sensor, half),
        ),
      );
    return { place, ...searchDiameter(rms, aperture.clearDiameterMm) };
  });
  if (fits.length === 0) return null;
  const closest = fits.reduce((least, fit) => (fit.rms < least.rms ? fit : least));
  // A ring that takes nothing fits at any width: the one that takes most, the rings being as fitted, is the one shown.
  const fitted = replaceDiameter(path.apertures, closest.place, closest.diameter);
  const shares = fitted.map((aperture) => computeCornerShare(path.beam, [aperture], sensor));
  const limits = fits[shares.indexOf(Math.min(...shares))];
  const best = limits.rms <= closest.rms + equallyGood ? limits : closest;
  return {
    place: best.place,
    clearDiameterMm: best.diameter,
    lo: best.lo,
    hi: best.hi,
    rmsPercent: best.rms,
    rmsOfEach: fits.map(({ rms }) => rms),
  };
}

interface Point {
  rMm: number;
  light: number;
}

function pickPoints(profile: { rMm: readonly number[]; mean: readonly number[] }, half: number): Point[] {
  const step = Math.max(1, Math.round((profile.rMm.length - 1) / points));
  return profile.rMm.flatMap((rMm, k) =>
    k % step === 0 && rMm <= half * 1.0001 ? [{ rMm, light: profile.mean[k] }] : [],
  );
}

function listBeams({ beam, nearBeam }: LightPath): Beam[] {
  if (nearBeam?.exitPupilMm == null) return [beam];
  const nearest = 1 / nearBeam.exitPupilMm;
  return Array.from({ length: pupils }, (_, k) => ({
    ...beam,
    exitPupilMm: k === 0 ? null : (pupils - 1) / (k * nearest),
  }));
}

/** Rms of measured minus predicted profile, percent, scale and the telescope's own fall-off fitted. */
function compareProfile(
  measured: readonly Point[],
  beam: Beam,
  apertures: readonly Aperture[],
  sensor: { widthMm: number; heightMm: number },
  half: number,
): number {
  const shares = measured.map(({ rMm }) => averageShare(beam, apertures, rMm, sensor));
  // light = a s + b s r2, b <= 0: two normal equations.
  let [ss, st, tt, sy, ty] = [0, 0, 0, 0, 0];
  measured.forEach(({ rMm, light }, k) => {
    const [s, t] = [shares[k], shares[k] * (rMm / half) ** 2];
    ss += s * s;
    st += s * t;
    tt += t * t;
    sy += s * light;
    ty += t * light;
  });
  const det = ss * tt - st * st;
  let [a, b] = det > 0 ? [(sy * tt - ty * st) / det, (ty * ss - sy * st) / det] : [sy / ss, 0];
  if (b > 0) [a, b] = [sy / ss, 0];
  const squares = measured.reduce((sum, { rMm, light }, k) => {
    return sum + (light - shares[k] * (a + b * (rMm / half) ** 2)) ** 2;
  }, 0);
  return Math.sqrt(squares / measured.length);
}

/** Mean of the share over the directions in which the circle lies on the sensor; centred rings need one. */
function averageShare(
  beam: Beam,
  apertures: readonly Aperture[],
  rMm: number,
  sensor: { widthMm: number; heightMm: number },
): number {
  if (apertures.every(({ offsetMm }) => offsetMm.x === 0 && offsetMm.y === 0))
    return computeLightShare(beam, apertures, { x: rMm, y: 0 });
  let [sum, n] = [0, 0];
  for (let k = 0; k < directions; k++) {
    const angle = (2 * Math.PI * (k + 0.5)) / directions;
    const point = { x: rMm * Math.cos(angle), y: rMm * Math.sin(angle) };
    if (Math.abs(point.x) > sensor.widthMm / 2 || Math.abs(point.y) > sensor.heightMm / 2) continue;
    sum += computeLightShare(beam, apertures, point);
    n++;
  }
  if (n > 0) return sum / n;
  const corner = Math.hypot(sensor.widthMm, sensor.heightMm);
  const at = { x: (rMm * sensor.widthMm) / corner, y: (rMm * sensor.heightMm) / corner };
  return computeLightShare(beam, apertures, at);
}

/** Diameters looked at: from 30 % below to 10 % above the record, then finer about the best. */
const coarseSteps = 24;
/** What fits within this of the best, percent of light, fits as well: dust and seams of the map (chosen). */
const asGood = 0.15;

function searchDiameter(rms: (diameter: number) => number, recorded: number) {
  const coarse = Array.from(
    { length: coarseSteps + 1 },
    (_, k) => recorded * (0.7 + (0.4 * k) / coarseSteps),
  );
  const values = coarse.map(rms);
  const at = values.indexOf(Math.min(...values));
  let [low, high] = [coarse[Math.max(0, at - 1)], coarse[Math.min(coarseSteps, at + 1)]];
  for (let pass = 0; pass < 14; pass++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3];
    if (rms(a) < rms(b)) high = b;
    else low = a;
  }
  const diameter = (low + high) / 2;
  const least = rms(diameter);
  const near = coarse.filter((_, k) => values[k] <= least + asGood);
  const reach = 0.1;
  return {
    diameter,
    rms: least,
    lo: Math.min(diameter - reach, ...near),
    hi: Math.max(diameter + reach, ...near),
  };
}
