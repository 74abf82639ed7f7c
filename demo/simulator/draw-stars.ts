import { type NodeShares, type PsfField, shareNodes } from "./psf-field.ts";
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
  const run = new Float32Array((2 * field.middlePx + 3) ** 2);
  for (const k of orderByNode(field, stars.xPx, stars.yPx)) {
    const flux = stars.fluxElectrons[k];
    const least = faintestElectrons / flux;
    let radius = 3;
    while (radius < halfPx && profile[radius] > least) radius++;
    const x0 = Math.round(stars.xPx[k]);
    const y0 = Math.round(stars.yPx[k]);
    fillStamp(stamp, radius, field, stars.xPx[k], stars.yPx[k], run);
    const wing = edge > least ? Math.min(farthestWingPx, halfPx * (edge / least) ** (1 / wingPower)) : 0;
    addStamp(frame, stamp, radius, x0, y0, flux, sites);
    if (wing > halfPx) addWings(frame, stars.xPx[k], stars.yPx[k], flux * edge, halfPx, wing, sites);
  }
}

/** Stars that share nodes come one after the other, so that the nodes' images stay in the processor's cache. */
function orderByNode(field: PsfField, xPx: Float64Array, yPx: Float64Array): number[] {
  const cells = Array.from(
    xPx,
    (x, k) => Math.floor(yPx[k] / field.stepYPx) * field.columns + Math.floor(x / field.stepXPx),
  );
  return cells.map((_, k) => k).sort((a, b) => cells[a] - cells[b] || a - b);
}

/**
 * The pixel-integrated image about the star's nearest pixel, share of the light a pixel, at the star's exact place:
 * cubics between nodes and between samples in the middle, straight lines in the wings around it, where the image
 * changes little and the cost would be greatest.
 */
function fillStamp(
  stamp: Float32Array,
  radius: number,
  field: PsfField,
  xPx: number,
  yPx: number,
  run: Float32Array,
): void {
  const side = 2 * radius + 1;
  stamp.fill(0, 0, side * side);
  const [x, y] = [Math.round(xPx) - xPx, Math.round(yPx) - yPx];
  addMiddle(stamp, radius, field, shareNodes(field, xPx, yPx, "cubic"), weighTaps(x, y, field, true), run);
  if (radius <= field.middlePx) return;
  addOuter(stamp, radius, field, shareNodes(field, xPx, yPx, "linear"), weighTaps(x, y, field, false));
}

/** A sample that shares in the star's pixels: which plane, by how many whole pixels it is carried, and its weight. */
interface Tap {
  plane: number;
  carryX: number;
  carryY: number;
  weight: number;
}

function weighTaps(xPx: number, yPx: number, field: PsfField, cubic: boolean): Tap[] {
  const { oversampling } = field;
  const [sampleX, sampleY] = [xPx * oversampling, yPx * oversampling];
  const [wholeX, wholeY] = [Math.floor(sampleX), Math.floor(sampleY)];
  const weigh = (f: number): number[] => (cubic ? weighCubic(f) : [0, 1 - f, f, 0]);
  const across = weigh(sampleX - wholeX);
  const down = weigh(sampleY - wholeY);
  const taps: Tap[] = [];
  for (let ty = 0; ty < 4; ty++) {
    for (let tx = 0; tx < 4; tx++) {
      const weight = across[tx] * down[ty];
      if (weight === 0) continue;
      const [stepX, stepY] = [wholeX + tx - 1, wholeY + ty - 1];
      const [carryX, carryY] = [Math.floor(stepX / oversampling), Math.floor(stepY / oversampling)];
      const plane = (stepY - carryY * oversampling) * oversampling + stepX - carryX * oversampling;
      taps.push({ plane, carryX, carryY, weight });
    }
  }
  return taps;
}

/**
 * The middle, of half-side `reach`: whole planes are added as one run of numbers, their rows `stride` long like those of
 * the packed middles; the two numbers at each row's end mean nothing and are left behind when copied to the stamp.
 */
function addMiddle(
  stamp: Float32Array,
  radius: number,
  field: PsfField,
  { nodes, shares }: NodeShares,
  taps: readonly Tap[],
  run: Float32Array,
): void {
  const { middlePx } = field;
  const reach = Math.min(radius, middlePx);
  const stride = 2 * middlePx + 3;
  const length = (2 * reach + 1) * stride;
  run.fill(0, 0, length);
  for (let n = 0; n < nodes.length; n++) {
    const { middles } = field.nodes[nodes[n]];
    for (const { plane, carryX, carryY, weight } of taps) {
      const share = shares[n] * weight;
      const from = (plane * stride + carryY + middlePx + 1 - reach) * stride + carryX + middlePx + 1 - reach;
      for (let i = 0; i < length; i++) run[i] += share * middles[from + i];
    }
  }
  const side = 2 * radius + 1;
  for (let j = 0; j <= 2 * reach; j++) {
    const to = (j + radius - reach) * side + radius - reach;
    stamp.set(run.subarray(j * stride, j * stride + 2 * reach + 1), to);
  }
}

/** The wings: the square of half-side `radius` without the middle. */
function addOuter(
  stamp: Float32Array,
  radius: number,
  field: PsfField,
  { nodes, shares }: NodeShares,
  taps: readonly Tap[],
): void {
  const { planeSide, halfPx, middlePx } = field;
  const side = 2 * radius + 1;
  for (let n = 0; n < nodes.length; n++) {
    const { planes } = field.nodes[nodes[n]];
    for (const { plane, carryX, carryY, weight } of taps) {
      const base = (plane * planeSide + carryY + halfPx + 1) * planeSide + carryX + halfPx + 1;
      const share = shares[n] * weight;
      for (let j = -radius; j <= radius; j++) {
        const whole = Math.abs(j) > middlePx;
        const from = base + j * planeSide;
        const to = (j + radius) * side + radius;
        const leftEnd = whole ? radius : -middlePx - 1;
        for (let i = -radius; i <= leftEnd; i++) stamp[to + i] += share * planes[from + i];
        if (whole) continue;
        for (let i = middlePx + 1; i <= radius; i++) stamp[to + i] += share * planes[from + i];
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
