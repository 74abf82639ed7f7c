import { type PsfField, shareNodes } from "./psf-field.ts";
import { weighCubic } from "./psf-truth.ts";

/** Which pixels a channel has: index (x & 1) + 2 (y & 1), row 0 at the top. */
export type Sites = readonly [boolean, boolean, boolean, boolean];

/** Expected electrons, row 0 at the top. */
export interface ElectronFrame {
  widthPx: number;
  heightPx: number;
  electrons: Float32Array;
}

/** Kolmogorov wings fall as r^(-11/3): Racine 1996, PASP 108, 699 (from memory). */
const wingPower = 11 / 3;
const farthestWingPx = 500;

/**
 * Adds stars to a frame. A star is drawn out to where its light falls below `faintestElectrons` a pixel; beyond the
 * square of the computed image its wings go on with the power law of the atmosphere.
 */
export function drawStars(
  frame: ElectronFrame,
  field: PsfField,
  stars: { xPx: Float64Array; yPx: Float64Array; fluxElectrons: Float64Array },
  sites: Sites,
  faintestElectrons: number,
): void {
  const { halfPx, profile } = field;
  const edge = profile[halfPx];
  const stamp = new Float32Array((2 * halfPx + 1) ** 2);
  for (let k = 0; k < stars.xPx.length; k++) {
    const flux = stars.fluxElectrons[k];
    const least = faintestElectrons / flux;
    let radius = 3;
    while (radius < halfPx && profile[radius] > least) radius++;
    const x0 = Math.round(stars.xPx[k]);
    const y0 = Math.round(stars.yPx[k]);
    fillStamp(stamp, radius, field, stars.xPx[k], stars.yPx[k]);
    const wing = edge > least ? Math.min(farthestWingPx, halfPx * (edge / least) ** (1 / wingPower)) : 0;
    addStamp(frame, stamp, radius, x0, y0, flux, sites);
    if (wing > halfPx) addWings(frame, stars.xPx[k], stars.yPx[k], flux * edge, halfPx, wing, sites);
  }
}

/** The pixel-integrated image about the star's nearest pixel, share of the light a pixel, at the star's exact place. */
function fillStamp(stamp: Float32Array, radius: number, field: PsfField, xPx: number, yPx: number): void {
  const { oversampling, planeSide, halfPx } = field;
  const side = 2 * radius + 1;
  stamp.fill(0, 0, side * side);
  const { nodes, shares } = shareNodes(field, xPx, yPx);
  const sampleX = (Math.round(xPx) - xPx) * oversampling;
  const sampleY = (Math.round(yPx) - yPx) * oversampling;
  const [wholeX, wholeY] = [Math.floor(sampleX), Math.floor(sampleY)];
  const wx = weighCubic(sampleX - wholeX);
  const wy = weighCubic(sampleY - wholeY);
  for (let n = 0; n < nodes.length; n++) {
    const { planes } = field.nodes[nodes[n]];
    for (let ty = 0; ty < 4; ty++) {
      const stepY = wholeY + ty - 1;
      const carryY = Math.floor(stepY / oversampling);
      const phaseY = stepY - carryY * oversampling;
      for (let tx = 0; tx < 4; tx++) {
        const weight = shares[n] * wx[tx] * wy[ty];
        if (weight === 0) continue;
        const stepX = wholeX + tx - 1;
        const carryX = Math.floor(stepX / oversampling);
        const phaseX = stepX - carryX * oversampling;
        const plane = (phaseY * oversampling + phaseX) * planeSide * planeSide;
        const corner = plane + (carryY + halfPx + 1 - radius) * planeSide + carryX + halfPx + 1 - radius;
        for (let j = 0, to = 0; j < side; j++) {
          let from = corner + j * planeSide;
          for (let i = 0; i < side; i++) stamp[to++] += weight * planes[from++];
        }
      }
    }
  }
}

function addStamp(
  frame: ElectronFrame,
  stamp: Float32Array,
  radius: number,
  x0: number,
  y0: number,
  flux: number,
  sites: Sites,
): void {
  const side = 2 * radius + 1;
  const reach2 = (radius + 0.5) ** 2;
  for (let j = -radius; j <= radius; j++) {
    const y = y0 + j;
    if (y < 0 || y >= frame.heightPx) continue;
    for (let i = -radius; i <= radius; i++) {
      const x = x0 + i;
      if (x < 0 || x >= frame.widthPx || i * i + j * j > reach2) continue;
      if (!sites[(x & 1) + 2 * (y & 1)]) continue;
      frame.electrons[y * frame.widthPx + x] += flux * stamp[(j + radius) * side + i + radius];
    }
  }
}

function addWings(
  frame: ElectronFrame,
  xPx: number,
  yPx: number,
  edgeElectrons: number,
  from: number,
  to: number,
  sites: Sites,
): void {
  const inner2 = (from + 0.5) ** 2;
  const scale = edgeElectrons * from ** wingPower;
  const [x0, y0] = [Math.round(xPx), Math.round(yPx)];
  for (let y = Math.max(0, Math.ceil(yPx - to)); y <= Math.min(frame.heightPx - 1, yPx + to); y++) {
    for (let x = Math.max(0, Math.ceil(xPx - to)); x <= Math.min(frame.widthPx - 1, xPx + to); x++) {
      if ((x - x0) ** 2 + (y - y0) ** 2 <= inner2 || !sites[(x & 1) + 2 * (y & 1)]) continue;
      const distance2 = (x - xPx) ** 2 + (y - yPx) ** 2;
      if (distance2 > to * to) continue;
      frame.electrons[y * frame.widthPx + x] += scale * distance2 ** (-wingPower / 2);
    }
  }
}
