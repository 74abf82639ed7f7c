import type { SimulatedCamera } from "./conditions.ts";
import type { ElectronFrame } from "./draw-stars.ts";
import type { RandomSource } from "./random.ts";
import type { Trail } from "./scene.ts";

/** Adds a satellite's trail: a Gaussian line across the frame whose light flickers slowly along its way. */
export function drawTrail(frame: ElectronFrame, trail: Trail): void {
  const angle = (trail.angleDeg * Math.PI) / 180;
  const [ux, uy] = [Math.cos(angle), -Math.sin(angle)];
  const reach = Math.ceil(trail.sigmaPx * 5);
  const peak = trail.electronsPerPx / (trail.sigmaPx * Math.sqrt(2 * Math.PI));
  const steep = Math.abs(uy) > Math.abs(ux);
  const lines = steep ? frame.heightPx : frame.widthPx;
  const widen = 1 / Math.max(Math.abs(ux), Math.abs(uy));
  for (let line = 0; line < lines; line++) {
    const along = steep ? (line - trail.yPx) / uy : (line - trail.xPx) / ux;
    const middle = steep ? trail.xPx + along * ux : trail.yPx + along * uy;
    const light = peak * (1 + 0.15 * Math.sin(along / 310));
    const first = Math.floor(middle - reach * widen);
    for (let k = first; k <= middle + reach * widen; k++) {
      const [x, y] = steep ? [k, line] : [line, k];
      if (x < 0 || y < 0 || x >= frame.widthPx || y >= frame.heightPx) continue;
      const distance = (k - middle) / widen;
      frame.electrons[y * frame.widthPx + x] += light * Math.exp(-0.5 * (distance / trail.sigmaPx) ** 2);
    }
  }
}

/**
 * Adds cosmic rays: straight tracks one pixel wide, of 1 to about 20 px, of 300 to 6,000 electrons a pixel (own choice,
 * after what long exposures at sea level show).
 */
export function drawCosmicRays(frame: ElectronFrame, meanCount: number, random: RandomSource): void {
  const count = random.drawPoisson(meanCount);
  for (let k = 0; k < count; k++) {
    const angle = 2 * Math.PI * random.drawUniform();
    const length = 1 + Math.min(20, -2.5 * Math.log(1 - random.drawUniform()));
    const electrons = 300 * 20 ** random.drawUniform();
    const x = random.drawUniform() * frame.widthPx;
    const y = random.drawUniform() * frame.heightPx;
    for (let s = 0; s < length; s += 0.5) {
      const column = Math.floor(x + s * Math.cos(angle));
      const row = Math.floor(y + s * Math.sin(angle));
      if (column < 0 || row < 0 || column >= frame.widthPx || row >= frame.heightPx) continue;
      frame.electrons[row * frame.widthPx + column] += electrons / 2;
    }
  }
}

/**
 * Adds hot pixels: the same ones in every frame of a camera, so `random` is seeded by the camera, not by the exposure.
 * Their charge grows with the exposure, 2 to 400 electrons a second, few of them strong (own choice).
 */
export function drawHotPixels(
  frame: ElectronFrame,
  camera: SimulatedCamera,
  exposureS: number,
  random: RandomSource,
): void {
  const count = Math.round(camera.hotPixelShare * frame.electrons.length);
  for (let k = 0; k < count; k++) {
    const at = Math.floor(random.drawUniform() * frame.electrons.length);
    frame.electrons[at] += exposureS * 2 * 200 ** (random.drawUniform() ** 2);
  }
}
