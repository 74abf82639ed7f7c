import { climbToPeak, contourAngles, traceHalfMaximum } from "./half-maximum.ts";
import type { PsfField } from "./psf-field.ts";
import { shareNodes } from "./psf-field.ts";
import { interpolateSquare } from "./psf-truth.ts";

/** The stars of one channel as they were drawn. Equal-length columns; px, y down; angles y up, counter-clockwise. */
export interface StarTruth {
  /** Centroid of the half-maximum region. */
  xPx: Float64Array;
  yPx: Float64Array;
  /**
   * The light of the star in this channel (were every pixel of the channel's colour), electrons: all that falls within
   * the computed square (some 60 px at FWHM 2.5 px). Diffraction's wings beyond it, half a percent, are folded into it;
   * the atmosphere's go on outside for bright stars and are not counted.
   */
  fluxElectrons: Float64Array;
  /** Half-maximum widths as the light falls on the sensor, before the pixel's integral; NaN where no single blob. */
  fwhmMajorPx: Float64Array;
  fwhmMinorPx: Float64Array;
  /** 0 <= angle < 180. */
  angleDeg: Float64Array;
  /** 1 where a pixel within 1.5 px of the centre reached saturation. */
  saturated: Uint8Array;
}

export interface ShapeTruth {
  dxPx: number;
  dyPx: number;
  fwhmMajorPx: number;
  fwhmMinorPx: number;
  angleDeg: number;
}

const unresolved: ShapeTruth = {
  dxPx: 0,
  dyPx: 0,
  fwhmMajorPx: Number.NaN,
  fwhmMinorPx: Number.NaN,
  angleDeg: Number.NaN,
};

/** Shape of the blended image that a star at (xPx, yPx) is drawn with, its contour traced on the blend itself. */
export function measureStarTruth(field: PsfField, xPx: number, yPx: number): ShapeTruth {
  const { nodes, shares } = shareNodes(field, xPx, yPx);
  const { coreSide, oversampling } = field;
  const centre = coreSide / 2;
  const guess = new Float64Array(contourAngles);
  let [originX, originY] = [0, 0];
  const blend = new Float32Array(coreSide * coreSide);
  for (let k = 0; k < nodes.length; k++) {
    const { truth, core } = field.nodes[nodes[k]];
    if (truth === null) return unresolved;
    originX += shares[k] * truth.origin.x;
    originY += shares[k] * truth.origin.y;
    for (let a = 0; a < contourAngles; a++) guess[a] += shares[k] * truth.radii[a];
    const share = shares[k];
    for (let i = 0; i < core.length; i++) blend[i] += share * core[i];
  }
  const sample = (x: number, y: number): number => interpolateSquare(blend, coreSide, x + centre, y + centre);
  let top = 0;
  for (let i = 1; i < blend.length; i++) if (blend[i] > blend[top]) top = i;
  const start = { x: (top % coreSide) - centre, y: Math.floor(top / coreSide) - centre };
  const peak = climbToPeak(sample, start, 1);
  const contour = traceHalfMaximum(sample, peak.value, { x: originX, y: originY }, { guess });
  if (contour === null) return unresolved;
  const angleDeg = (180 - (contour.angleRad * 180) / Math.PI) % 180;
  return {
    dxPx: contour.x / oversampling,
    dyPx: contour.y / oversampling,
    fwhmMajorPx: contour.fwhmMajor / oversampling,
    fwhmMinorPx: contour.fwhmMinor / oversampling,
    angleDeg,
  };
}
