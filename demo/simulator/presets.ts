import type { Band, Exposure, FieldAberrations, Optics, SimulatedCamera } from "./conditions.ts";
import { makeRandomSource } from "./random.ts";
import { emptyScene, type Scene } from "./scene.ts";

/** Plain starting points, to be spread and changed: a perfect 115 mm f/7 on a monochrome 3.76 um camera, a fair night. */

export const flatField: FieldAberrations = {
  defocusUm: 0,
  tiltX: 0,
  tiltY: 0,
  curvature: 0,
  astigmatism: 0,
  centreMm: { x: 0, y: 0 },
};

export const plainOptics: Optics = {
  apertureMm: 115,
  focalLengthMm: 805,
  obstructionMm: 0,
  field: flatField,
  rings: [],
  exitPupilMm: null,
  transmission: 0.9,
};

export const plainCamera: SimulatedCamera = {
  widthPx: 800,
  heightPx: 600,
  pixelPitchUm: 3.76,
  gainElectronsPerAdu: 0.8,
  readNoiseElectrons: 1.6,
  biasAdu: 500,
  saturationAdu: 65535,
  quantumEfficiency: 0.8,
  cfa: "none",
  hotPixelShare: 0,
  ampGlowElectronsPerS: 0,
};

/** A clear filter, 400 to 700 nm, as two wavelengths. */
export const clearBand: Band = {
  channel: "L",
  wavelengthsNm: [480, 610],
  shares: [0.5, 0.5],
  widthNm: 280,
  focusShiftUm: 0,
  lateralPpm: 0,
};

/** Filters of a colour sensor. */
export const colourBands: readonly Band[] = [
  { channel: "R", wavelengthsNm: [615], shares: [1], widthNm: 95, focusShiftUm: 0, lateralPpm: 0 },
  { channel: "G", wavelengthsNm: [535], shares: [1], widthNm: 100, focusShiftUm: 0, lateralPpm: 0 },
  { channel: "B", wavelengthsNm: [465], shares: [1], widthNm: 90, focusShiftUm: 0, lateralPpm: 0 },
];

export const plainExposure: Exposure = {
  exposureS: 60,
  bands: [clearBand],
  seeingArcsec: 2.5,
  outerScaleM: null,
  tracking: {},
  skyMagnitude: 20.5,
  skyGradient: { share: 0, angleDeg: 0 },
  dispersion: null,
  ditherPx: { x: 0, y: 0 },
};

/**
 * Stars at random places (seeded) no nearer to each other than `leastDistancePx` and to the border than half of that,
 * their light spread evenly in logarithm between two values. May hold fewer than `count` where they do not fit.
 */
export function placeIsolatedStars(wanted: {
  widthPx: number;
  heightPx: number;
  count: number;
  leastDistancePx: number;
  faintestElectrons: number;
  brightestElectrons: number;
  seed: number;
}): Scene {
  const random = makeRandomSource(wanted.seed);
  const cell = wanted.leastDistancePx;
  const taken = new Map<string, [number, number]>();
  const [xPx, yPx, flux]: [number[], number[], number[]] = [[], [], []];
  for (let attempt = 0; attempt < wanted.count * 30 && xPx.length < wanted.count; attempt++) {
    const x = cell / 2 + random.drawUniform() * (wanted.widthPx - 1 - cell);
    const y = cell / 2 + random.drawUniform() * (wanted.heightPx - 1 - cell);
    const [column, row] = [Math.floor(x / cell), Math.floor(y / cell)];
    let free = true;
    for (let k = 0; k < 9 && free; k++) {
      const other = taken.get(`${column + (k % 3) - 1} ${row + Math.floor(k / 3) - 1}`);
      if (other !== undefined && Math.hypot(other[0] - x, other[1] - y) < cell) free = false;
    }
    if (!free) continue;
    taken.set(`${column} ${row}`, [x, y]);
    xPx.push(x);
    yPx.push(y);
    flux.push(
      wanted.faintestElectrons *
        (wanted.brightestElectrons / wanted.faintestElectrons) ** random.drawUniform(),
    );
  }
  return {
    ...emptyScene,
    placed: {
      xPx: Float64Array.from(xPx),
      yPx: Float64Array.from(yPx),
      fluxElectrons: Float64Array.from(flux),
    },
  };
}
