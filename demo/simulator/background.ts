import type { Band, Exposure, Optics, SimulatedCamera } from "./conditions.ts";
import { countZeroMagnitudeElectrons, type Scene } from "./scene.ts";
import { tabulateRelativeLight } from "./vignetting.ts";

/** Side of a mesh cell, px: light of sky, nebula and amplifier changes little over it. */
const meshPx = 16;

/** Writes the smooth light of one row (sky, nebulae, amplifier glow), electrons a pixel, into `row`. */
export type BackgroundRow = (y: number, row: Float32Array) => void;

/** Prepares the smooth light of one channel on a mesh; rows are filled by linear interpolation. */
export function prepareBackground(
  scene: Scene,
  optics: Optics,
  camera: SimulatedCamera,
  exposure: Exposure,
  band: Band,
): BackgroundRow {
  const { widthPx, heightPx } = camera;
  const columns = Math.ceil(widthPx / meshPx) + 2;
  const rows = Math.ceil(heightPx / meshPx) + 2;
  const mesh = new Float32Array(columns * rows);
  const pitchMm = camera.pixelPitchUm / 1000;
  const scale = (206.264806 * camera.pixelPitchUm) / optics.focalLengthMm;
  const perMagnitude0 =
    countZeroMagnitudeElectrons(optics, camera.quantumEfficiency, band.widthNm, exposure.exposureS) *
    scale ** 2;
  const sky = perMagnitude0 * 10 ** (-0.4 * exposure.skyMagnitude);
  const halfDiagonal = (Math.hypot(widthPx, heightPx) / 2) * pitchMm;
  const light = tabulateRelativeLight(optics, halfDiagonal * 1.02);
  const slope = exposure.skyGradient.share / (2 * halfDiagonal);
  const slopeAngle = (exposure.skyGradient.angleDeg * Math.PI) / 180;
  const patches = scene.nebulae.map((nebula) => {
    const angle = (nebula.angleDeg * Math.PI) / 180;
    return {
      xMm: (-nebula.xiArcsec / 206264.806) * optics.focalLengthMm + exposure.ditherPx.x * pitchMm,
      yMm: (nebula.etaArcsec / 206264.806) * optics.focalLengthMm - exposure.ditherPx.y * pitchMm,
      cosine: Math.cos(angle),
      sine: Math.sin(angle),
      major: (nebula.sigmaMajorArcsec / 206264.806) * optics.focalLengthMm,
      minor: (nebula.sigmaMinorArcsec / 206264.806) * optics.focalLengthMm,
      peak: perMagnitude0 * 10 ** (-0.4 * nebula.magnitude),
    };
  });
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const xPx = column * meshPx;
      const yPx = row * meshPx;
      const xMm = (xPx - (widthPx - 1) / 2) * pitchMm;
      const yMm = -(yPx - (heightPx - 1) / 2) * pitchMm;
      let value = sky * (1 + slope * (xMm * Math.cos(slopeAngle) + yMm * Math.sin(slopeAngle)));
      for (const patch of patches) {
        const [dx, dy] = [xMm - patch.xMm, yMm - patch.yMm];
        const along = (dx * patch.cosine + dy * patch.sine) / patch.major;
        const across = (dy * patch.cosine - dx * patch.sine) / patch.minor;
        value += patch.peak * Math.exp(-0.5 * (along * along + across * across));
      }
      value *= light(xMm * xMm + yMm * yMm);
      const glowDistance = Math.hypot(widthPx - xPx, heightPx - yPx) / (0.06 * widthPx);
      value += camera.ampGlowElectronsPerS * exposure.exposureS * Math.exp(-glowDistance);
      mesh[row * columns + column] = value;
    }
  }
  return (y, row) => {
    const meshRow = Math.floor(y / meshPx);
    const down = y / meshPx - meshRow;
    const upper = meshRow * columns;
    for (let column = 0; column * meshPx < widthPx; column++) {
      const at = upper + column;
      const left = mesh[at] + (mesh[at + columns] - mesh[at]) * down;
      const right = mesh[at + 1] + (mesh[at + columns + 1] - mesh[at + 1]) * down;
      const step = (right - left) / meshPx;
      const first = column * meshPx;
      const end = Math.min(first + meshPx, widthPx);
      for (let x = first; x < end; x++) row[x] = left + step * (x - first);
    }
  };
}
