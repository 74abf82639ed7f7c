import { existsSync, mkdirSync, renameSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { placeIsolatedStars, plainCamera, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { encodeFits } from "../../demo/simulator/write-fits.ts";

/** Draws the benchmark's frame once: 26 megapixels of 16 bits, 4,000 stars of 2.6 px, tilt and curvature; seed 4. */
export function makeBenchFrame(path: string): void {
  if (existsSync(path)) return;
  const camera = { ...plainCamera, widthPx: 6248, heightPx: 4176 };
  const scene = placeIsolatedStars({
    widthPx: camera.widthPx,
    heightPx: camera.heightPx,
    count: 4000,
    leastDistancePx: 30,
    faintestElectrons: 1500,
    brightestElectrons: 400_000,
    seed: 4,
  });
  const field = { ...plainOptics.field, tiltX: 0.8, tiltY: -0.5, curvature: 0.08, astigmatism: 0.05 };
  const frame = drawFrame(scene, { ...plainOptics, field }, camera, plainExposure, 4, { truth: false });
  const bytes = encodeFits(
    frame,
    [
      { keyword: "EXPTIME", value: plainExposure.exposureS, comment: "s" },
      { keyword: "XPIXSZ", value: camera.pixelPitchUm, comment: "um" },
      { keyword: "EGAIN", value: camera.gainElectronsPerAdu, comment: "e-/ADU" },
    ],
    false,
  );
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(`${path}.tmp`, bytes);
  renameSync(`${path}.tmp`, path);
}
