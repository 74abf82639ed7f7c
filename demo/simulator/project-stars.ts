import type { Band, Exposure, Optics, SimulatedCamera } from "./conditions.ts";
import { countZeroMagnitudeElectrons, type PlacedStars, type Scene, shiftMagnitude } from "./scene.ts";
import { tabulateRelativeLight } from "./vignetting.ts";

/** Stars farther outside the sensor than this are left out, px. */
const marginPx = 60;

/**
 * Where each star's light falls in one channel and how many electrons it leaves. North is up and east to the left on the
 * displayed frame, the scale that of the focal length (gnomonic projection: the tangent plane times f). A channel's
 * lateral colour stretches positions about the sensor's centre; what the air does to colours is in the star image
 * itself. Placed stars stay where they are, and the dither does not move them.
 */
export function projectStars(
  scene: Scene,
  optics: Optics,
  camera: SimulatedCamera,
  exposure: Exposure,
  band: Band,
): PlacedStars {
  const pitchMm = camera.pixelPitchUm / 1000;
  const [centreX, centreY] = [(camera.widthPx - 1) / 2, (camera.heightPx - 1) / 2];
  const halfDiagonal = Math.hypot(centreX + marginPx, centreY + marginPx) * pitchMm;
  const light = tabulateRelativeLight(optics, halfDiagonal * 1.02);
  const xPx: number[] = [];
  const yPx: number[] = [];
  const flux: number[] = [];
  const place = (x: number, y: number, electrons: number): void => {
    if (x < -marginPx || y < -marginPx) return;
    if (x > camera.widthPx + marginPx || y > camera.heightPx + marginPx) return;
    xPx.push(x);
    yPx.push(y);
    flux.push(electrons);
  };
  const { stars, placed } = scene;
  if (stars !== null) {
    const zero = countZeroMagnitudeElectrons(
      optics,
      camera.quantumEfficiency,
      band.widthNm,
      exposure.exposureS,
    );
    const mean = band.wavelengthsNm.reduce((sum, nm, k) => sum + nm * band.shares[k], 0);
    const stretch = ((1 + band.lateralPpm * 1e-6) * optics.focalLengthMm) / (206264.806 * pitchMm);
    for (let k = 0; k < stars.magnitude.length; k++) {
      const x = centreX - stars.xiArcsec[k] * stretch + exposure.ditherPx.x;
      const y = centreY - stars.etaArcsec[k] * stretch + exposure.ditherPx.y;
      const radius2 = ((x - centreX) ** 2 + (y - centreY) ** 2) * pitchMm ** 2;
      const magnitude = shiftMagnitude(stars.magnitude[k], stars.colourIndex[k], mean);
      place(x, y, zero * 10 ** (-0.4 * magnitude) * light(radius2));
    }
  }
  if (placed !== null) {
    for (let k = 0; k < placed.xPx.length; k++) place(placed.xPx[k], placed.yPx[k], placed.fluxElectrons[k]);
  }
  return { xPx: Float64Array.from(xPx), yPx: Float64Array.from(yPx), fluxElectrons: Float64Array.from(flux) };
}
