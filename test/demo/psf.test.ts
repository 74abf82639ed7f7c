import { describe, expect, it } from "vitest";
import type { Band, Exposure, Optics } from "../../demo/simulator/conditions.ts";
import type { FieldPoint } from "../../demo/simulator/field-point.ts";
import { transferKolmogorov } from "../../demo/simulator/night-transfer.ts";
import { flatField, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import {
  choosePsfSampling,
  type PointSpread,
  type PsfSampling,
  preparePsfMaker,
} from "../../demo/simulator/psf.ts";
import { interpolateSquare, measurePsfTruth } from "../../demo/simulator/psf-truth.ts";

const green: Band = {
  channel: "G",
  wavelengthsNm: [550],
  shares: [1],
  widthNm: 100,
  focusShiftUm: 0,
  lateralPpm: 0,
};
const onAxis: FieldPoint = { tangentialUm: 0, sagittalUm: 0, meridianRad: 0, comaUm: 0, sphericalUm: 0 };
const airless: Exposure = { ...plainExposure, bands: [green], seeingArcsec: 0 };

function makeStar(
  optics: Optics,
  exposure: Exposure,
  point: Partial<FieldPoint> = {},
  sampling: Partial<PsfSampling> = {},
): PointSpread {
  const full = { ...onAxis, ...point };
  const blur = Math.max(Math.abs(full.tangentialUm), Math.abs(full.sagittalUm));
  const chosen = { ...choosePsfSampling(optics, exposure, 3.76, blur), ...sampling };
  return preparePsfMaker(optics, exposure, exposure.bands[0], chosen).makePsf(full);
}

function measureUm(star: PointSpread): { major: number; minor: number; angleRad: number } {
  const contour = measurePsfTruth(star);
  if (contour === null) throw new Error("no contour");
  const step = star.pixelPitchUm / star.oversampling;
  return { major: contour.fwhmMajor * step, minor: contour.fwhmMinor * step, angleRad: contour.angleRad };
}

/** Transfer of an open disc at a share of its cut-off: Goodman, Introduction to Fourier Optics (2005), equation 6-32. */
function transferDisc(share: number): number {
  return share >= 1 ? 0 : (2 / Math.PI) * (Math.acos(share) - share * Math.sqrt(1 - share * share));
}

/** Slow plain twin: half-maximum width of a round image by direct integration of its transfer up to a frequency. */
function transformRadially(transfer: (f: number) => number, highest: number): number {
  const steps = 4000;
  const weights = Array.from({ length: steps }, (_, k) => {
    const f = ((k + 0.5) / steps) * highest;
    return transfer(f) * f;
  });
  const bessel = (x: number): number => {
    const parts = 32 + Math.ceil(x);
    let sum = 0;
    for (let k = 0; k < parts; k++) sum += Math.cos(x * Math.sin((Math.PI * (k + 0.5)) / parts));
    return sum / parts;
  };
  const height = (r: number): number =>
    weights.reduce((sum, w, k) => sum + w * bessel(2 * Math.PI * r * ((k + 0.5) / steps) * highest), 0);
  const half = height(0) / 2;
  let [inner, outer] = [0, 50];
  for (let pass = 0; pass < 32; pass++) {
    const r = (inner + outer) / 2;
    if (height(r) > half) inner = r;
    else outer = r;
  }
  return inner + outer;
}

/** Second moments per axis, um2, of the part within the square. */
function measureMoments(star: PointSpread): { xx: number; yy: number } {
  let [sum, xx, yy] = [0, 0, 0];
  const step = star.pixelPitchUm / star.oversampling;
  for (let row = 0, at = 0; row < star.side; row++) {
    for (let column = 0; column < star.side; column++, at++) {
      const [x, y] = [(column - star.side / 2) * step, (row - star.side / 2) * step];
      sum += star.onSensor[at];
      xx += star.onSensor[at] * x * x;
      yy += star.onSensor[at] * y * y;
    }
  }
  return { xx: xx / sum, yy: yy / sum };
}

function atFocalRatio(ratio: number, obstruction = 0): Optics {
  return { ...plainOptics, focalLengthMm: 115 * ratio, obstructionMm: 115 * obstruction, field: flatField };
}

describe("the image of a perfect aperture", () => {
  // Born & Wolf, Principles of Optics, section 8.5: half-maximum width 1.028994 lambda N.
  it.each([{ ratio: 3 }, { ratio: 5 }, { ratio: 7 }, { ratio: 12 }])(
    "is 1.028994 lambda N wide at half maximum at f/$ratio and 550 nm, to 0.02 percent",
    ({ ratio }) => {
      const { major, minor } = measureUm(makeStar(atFocalRatio(ratio), airless));
      const expected = 1.028994 * 0.55 * ratio;
      expect(Math.abs(major / expected - 1)).toBeLessThan(2e-4);
      expect(Math.abs(minor / expected - 1)).toBeLessThan(2e-4);
    },
  );

  // Transform of the annulus, (2 / (1 - e2)) (J1(v) - e J1(e v)) / v: half-maximum widths in lambda N, computed apart.
  it.each([
    { obstruction: 0.2, width: 1.0068 },
    { obstruction: 0.3, width: 0.9811 },
    { obstruction: 0.4, width: 0.9486 },
    { obstruction: 0.5, width: 0.9117 },
  ])(
    "is $width lambda N wide with an obstruction of $obstruction, to 0.05 percent",
    ({ obstruction, width }) => {
      const { major } = measureUm(makeStar(atFocalRatio(7, obstruction), airless));
      expect(Math.abs(major / (width * 0.55 * 7) - 1)).toBeLessThan(5e-4);
    },
  );

  it("holds half of its light within 0.534832 lambda N of its middle, to 0.05 percent", () => {
    // Born & Wolf, section 8.5.2: encircled energy 1 - J0^2 - J1^2. All light counts as lying within the computed
    // square: what the wings carry beyond it, 2 / (pi2 R) outside R (in lambda N), R averaged over the square's edge.
    const star = makeStar(atFocalRatio(7), airless, {}, { oversampling: 32, side: 2048, keptSide: 400 });
    const radius = (0.534832 * 0.55 * 7 * star.oversampling) / star.pixelPitchUm;
    let inside = 0;
    const [rings, angles] = [200, 64];
    for (let k = 0; k < rings; k++) {
      const r = ((k + 0.5) / rings) * radius;
      for (let a = 0; a < angles; a++) {
        const angle = (2 * Math.PI * a) / angles;
        const [x, y] = [200 + r * Math.cos(angle), 200 + r * Math.sin(angle)];
        inside += interpolateSquare(star.onSensor, star.side, x, y) * r;
      }
    }
    inside *= ((radius / rings) * 2 * Math.PI) / angles / star.oversampling ** 2;
    const halfSide = (1024 * 3.76) / 32 / (0.55 * 7);
    const beyond = ((2 / Math.PI ** 2) * (2 * Math.SQRT2)) / Math.PI / halfSide;
    expect(Math.abs((inside * (1 - beyond)) / 0.5 - 1)).toBeLessThan(5e-4);
  });

  it("loses light from its peak by sinc2(1/4) = 0.8106 when out of focus by 2 lambda N2, within 0.1 percent", () => {
    // Quarter-wave defocus: Smith, Modern Optical Engineering (2008), section 9.8; axial intensity Born & Wolf 8.8.
    const optics = atFocalRatio(7);
    const defocus = 2 * 0.55 * 49;
    const fixed = { oversampling: 16, side: 512, keptSide: 400 };
    const sharp = makeStar(optics, airless, {}, fixed);
    const blurred = makeStar(optics, airless, { tangentialUm: defocus, sagittalUm: defocus }, fixed);
    const middle = 200 * 400 + 200;
    expect(Math.abs(blurred.onSensor[middle] / sharp.onSensor[middle] / 0.81057 - 1)).toBeLessThan(1e-3);
  });
});

describe("the image through the air", () => {
  it("is 0.975865 lambda / r0 wide in the twin that has no aperture (Fried 1966)", () => {
    expect(Math.abs(transformRadially((f) => transferKolmogorov(10, f), 1 / 3) / 10 - 1)).toBeLessThan(1e-5);
  });

  it.each([{ seeing: 1 }, { seeing: 2.5 }, { seeing: 5 }])(
    "equals the radial transform of aperture times air at f/7 and $seeing arcsec, to 0.03 percent",
    ({ seeing }) => {
      const cutOff = 1 / (0.55 * 7);
      const seeingUm = (seeing * 805) / 206.264806;
      const twin = transformRadially(
        (f) => transferDisc(f / cutOff) * transferKolmogorov(seeingUm, f),
        cutOff,
      );
      const { major, minor } = measureUm(makeStar(atFocalRatio(7), { ...airless, seeingArcsec: seeing }));
      expect(Math.abs(major / twin - 1)).toBeLessThan(3e-4);
      expect(Math.abs(minor / twin - 1)).toBeLessThan(3e-4);
    },
  );

  it("widens with diffraction as computed apart: Kolmogorov 3 with Airy 1.5 gives 3.4160", () => {
    // Reference computed with scipy's quadrature from both transfers.
    const optics = atFocalRatio(7);
    const airy = 1.028994 * 0.55 * 7;
    const seeing = (2 * airy * 206.264806) / optics.focalLengthMm;
    const { major } = measureUm(makeStar(optics, { ...airless, seeingArcsec: seeing }));
    expect(Math.abs((major / airy) * 1.5 - 3.416)).toBeLessThan(0.002);
  });

  it("is narrower with an outer scale of 20 m at r0 = 10 cm by the factor 0.8225, within 0.5 percent", () => {
    // Direct von Karman integration, 0.8225; Tokovinin 2002, PASP 114, 1156, equation 19 gives 0.8179.
    const wide: Optics = { ...plainOptics, apertureMm: 1500, focalLengthMm: 3000 };
    const seeing = 0.975865 * (500e-9 / 0.1) * 206264.806 * (500 / 550) ** 0.2;
    const band = { ...green, wavelengthsNm: [500] };
    const night = { ...airless, bands: [band], seeingArcsec: seeing };
    const pure = measureUm(makeStar(wide, night));
    const bounded = measureUm(makeStar(wide, { ...night, outerScaleM: 20 }));
    expect(Math.abs(bounded.major / pure.major / 0.8225 - 1)).toBeLessThan(5e-3);
  });
});

describe("blur by defocus and by the mount", () => {
  it("adds z2 / (16 N2) to the second moment: along the radius from z_T, across it from z_S, within 1.5 percent", () => {
    // Moments of a pupil's geometric image; compared as a difference, because diffraction's own moment is infinite.
    const optics = atFocalRatio(5);
    const night = { ...airless, tracking: { jitter: { majorRmsArcsec: 2, minorRmsArcsec: 2, angleDeg: 0 } } };
    const fixed = { oversampling: 4, side: 512, keptSide: 512 };
    const sharp = measureMoments(makeStar(optics, night, {}, fixed));
    const blurred = measureMoments(makeStar(optics, night, { tangentialUm: 160, sagittalUm: 60 }, fixed));
    expect(Math.abs((blurred.xx - sharp.xx) / (160 ** 2 / 400) - 1)).toBeLessThan(0.015);
    expect(Math.abs((blurred.yy - sharp.yy) / (60 ** 2 / 400) - 1)).toBeLessThan(0.1);
  });

  it("draws the long axis along the meridian when the tangential focus is the farther one, at 30 degrees", () => {
    const night = { ...airless, seeingArcsec: 2 };
    const star = makeStar(plainOptics, night, { tangentialUm: 90, sagittalUm: 20, meridianRad: Math.PI / 6 });
    // Rows run downwards, so the angle comes out mirrored: 150 degrees.
    expect((measureUm(star).angleRad * 180) / Math.PI).toBeCloseTo(150, 3);
  });

  it("turns by 90 degrees when the defocus changes its sign at the same astigmatism, with equal widths", () => {
    const night = { ...airless, seeingArcsec: 2 };
    const outside = measureUm(makeStar(plainOptics, night, { tangentialUm: 80, sagittalUm: 20 }));
    const inside = measureUm(makeStar(plainOptics, night, { tangentialUm: -20, sagittalUm: -80 }));
    expect(inside.major).toBeCloseTo(outside.major, 5);
    expect(inside.minor).toBeCloseTo(outside.minor, 5);
    expect(Math.abs(Math.abs(inside.angleRad - outside.angleRad) - Math.PI / 2)).toBeLessThan(1e-4);
  });

  it("makes a nearly Gaussian star of hypot width from Gaussian wander: 2.3548 sigma to 1 percent", () => {
    // A wide aperture's diffraction is small beside the wander of 3 arcsec rms.
    const wide: Optics = { ...plainOptics, apertureMm: 1000, focalLengthMm: 3000 };
    const night = {
      ...airless,
      tracking: { jitter: { majorRmsArcsec: 3, minorRmsArcsec: 2, angleDeg: 25 } },
    };
    const { major, minor, angleRad } = measureUm(makeStar(wide, night));
    const scale = (2.354820045 * 3000) / 206.264806;
    expect(Math.abs(major / (3 * scale) - 1)).toBeLessThan(1e-2);
    expect(Math.abs(minor / (2 * scale) - 1)).toBeLessThan(1e-2);
    expect((angleRad * 180) / Math.PI).toBeCloseTo(155, 2);
  });

  it("adds L2 / 12 to the moment along a drift of 6 arcsec and nothing across, within 1 percent", () => {
    const fixed = { oversampling: 4, side: 512, keptSide: 512 };
    const still = measureMoments(makeStar(plainOptics, { ...airless, seeingArcsec: 2 }, {}, fixed));
    const drift = { drift: { lengthArcsec: 6, angleDeg: 0 } };
    const moved = measureMoments(
      makeStar(plainOptics, { ...airless, seeingArcsec: 2, tracking: drift }, {}, fixed),
    );
    const lengthUm = (6 * 805) / 206.264806;
    expect(Math.abs((moved.xx - still.xx) / (lengthUm ** 2 / 12) - 1)).toBeLessThan(0.01);
    expect(Math.abs(moved.yy - still.yy) / still.yy).toBeLessThan(1e-3);
  });

  it("has no single contour when the mount jumped by 12 arcsec half-way", () => {
    const tracking = { jump: { lengthArcsec: 12, angleDeg: 40, share: 0.5 } };
    expect(measurePsfTruth(makeStar(plainOptics, { ...airless, seeingArcsec: 2, tracking }))).toBeNull();
  });
});

describe("sampling of the image", () => {
  it("does not matter: twice as fine and twice as wide a square changes the widths by less than 0.03 percent", () => {
    const optics = atFocalRatio(5.53);
    const night = { ...airless, seeingArcsec: 2.3 };
    const point = { tangentialUm: 60, sagittalUm: 15, meridianRad: 0.4 };
    const plain = measureUm(makeStar(optics, night, point));
    const chosen = choosePsfSampling(optics, night, 3.76, 60);
    const finer = measureUm(
      makeStar(optics, night, point, {
        oversampling: 2 * chosen.oversampling,
        side: 4 * chosen.side,
        keptSide: chosen.keptSide,
      }),
    );
    expect(Math.abs(plain.major / finer.major - 1)).toBeLessThan(3e-4);
    expect(Math.abs(plain.minor / finer.minor - 1)).toBeLessThan(3e-4);
  });

  it("integrates over the pixel: p2 / 12 more second moment on each axis, within 1 percent", () => {
    const fixed = { oversampling: 8, side: 1024, keptSide: 1024 };
    const star = makeStar(plainOptics, { ...airless, seeingArcsec: 2 }, {}, fixed);
    const bare = measureMoments(star);
    const pixel = measureMoments({ ...star, onSensor: star.integrated });
    expect(Math.abs((pixel.xx - bare.xx) / (3.76 ** 2 / 12) - 1)).toBeLessThan(0.01);
  });
});
