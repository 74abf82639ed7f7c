import type { Optics } from "./conditions.ts";

/** The shadow of a speck of dust: a disc, or a ring where the telescope has a central obstruction or the speck is in sharp focus. */
export interface DustShadow {
  xMm: number;
  yMm: number;
  radiusMm: number;
  /** Inner radius as a share of the outer. */
  hole: number;
  /** Share of the light it takes. */
  depth: number;
}

/** What lights a flat besides the optics. */
export interface FlatSource {
  /** Change of the source across the sensor's diagonal as a share of its mean, and where it is brightest. */
  gradient: { share: number; angleDeg: number };
  dust: readonly DustShadow[];
}

/** Strips in which the pupil is cut; the light is then right to a few parts in 100,000. */
const strips = 600;

/**
 * Light at a point of the sensor relative to the axis without rings: the part of the pupil that no ring hides, in strips
 * whose ends are those of the chords of all edges, times cos4 of the chief ray's slope.
 */
export function computePointLight(optics: Optics, xMm: number, yMm: number): number {
  const ratio = optics.focalLengthMm / optics.apertureMm;
  const discs = optics.rings.map(({ clearDiameterMm, fromSensorMm, offsetMm }) => {
    const scale = (2 * ratio) / fromSensorMm;
    const height = optics.exitPupilMm === null ? 1 : 1 - fromSensorMm / optics.exitPupilMm;
    return {
      u: ((offsetMm?.x ?? 0) - xMm * height) * scale,
      v: ((offsetMm?.y ?? 0) - yMm * height) * scale,
      squared: (clearDiameterMm * scale * 0.5) ** 2,
    };
  });
  const inner = optics.obstructionMm / optics.apertureMm;
  let open = 0;
  for (let k = 0; k < strips; k++) {
    const v = (2 * (k + 0.5)) / strips - 1;
    const half = Math.sqrt(1 - v * v);
    let [left, right] = [-half, half];
    for (const disc of discs) {
      const inside = disc.squared - (v - disc.v) ** 2;
      if (inside <= 0) {
        right = left;
        break;
      }
      const chord = Math.sqrt(inside);
      left = Math.max(left, disc.u - chord);
      right = Math.min(right, disc.u + chord);
    }
    if (right <= left) continue;
    open += right - left;
    const dark = inner * inner - v * v;
    if (dark > 0) open -= Math.max(0, Math.min(right, Math.sqrt(dark)) - Math.max(left, -Math.sqrt(dark)));
  }
  // Strips of a whole pupil do not sum to pi exactly: the same sum without rings is the measure.
  const slope = Math.hypot(xMm, yMm) / (optics.exitPupilMm ?? optics.focalLengthMm);
  return (open * 2) / strips / (measureWholePupil() - Math.PI * inner * inner) / (1 + slope * slope) ** 2;
}

let whole = 0;
function measureWholePupil(): number {
  if (whole > 0) return whole;
  for (let k = 0; k < strips; k++) whole += (4 / strips) * Math.sqrt(1 - ((2 * (k + 0.5)) / strips - 1) ** 2);
  return whole;
}

/** The same times the source's own gradient, without dust: what a perfect smooth map of the flat would show. */
export function computeFlatLight(
  optics: Optics,
  source: FlatSource,
  diagonalMm: number,
  xMm: number,
  yMm: number,
): number {
  const angle = (source.gradient.angleDeg * Math.PI) / 180;
  const along = (xMm * Math.cos(angle) + yMm * Math.sin(angle)) / diagonalMm;
  return computePointLight(optics, xMm, yMm) * (1 + source.gradient.share * along);
}
