import { describe, expect, it } from "vitest";
import type { TrainRecord } from "../../lib/records/types.ts";
import {
  computeAnnularIntensity,
  computeAnnularWidths,
  computeBesselJ1,
} from "../../lib/train/diffraction.ts";
import { computeSolvedFocalLength } from "../../lib/train/focal-length.ts";
import { computeGlassIndex, crownGlass, fusedSilica } from "../../lib/train/glass-index.ts";
import {
  computeConeAngle,
  computeMarginalPlateShift,
  computePlateShift,
  computePlateSpherical,
  computePlateSphericalThirdOrder,
  computePlateWavefront,
  computeTiltedPlateAstigmatism,
  computeTiltedPlateOffset,
} from "../../lib/train/glass-plate.ts";
import { computeReducerState } from "../../lib/train/reducer-spacing.ts";
import { computeSampling } from "../../lib/train/sampling.ts";
import { listSamplingExtras } from "../../lib/train/sampling-extras.ts";
import { makeTrain } from "../train/make-train.ts";

/** A telescope alone, given by what a handbook table gives. */
function makeTelescope(given: {
  apertureMm: number;
  focalLengthMm: number;
  pixelPitchUm?: number;
  widthPx?: number;
  obstructionMm?: number;
}): TrainRecord {
  const { apertureMm, focalLengthMm, pixelPitchUm = 3.76, widthPx = 6248, obstructionMm = 0 } = given;
  return makeTrain({
    telescope: { name: "Tarnlight", apertureMm, focalLengthMm, obstructionMm },
    corrector: null,
    camera: { ...makeTrain().camera, pixelPitchUm, widthPx },
  });
}

function pickExtra(train: TrainRecord, id: string, measured = {}): number {
  return listSamplingExtras(train, measured).find((extra) => extra.id === id)?.quantity.value ?? Number.NaN;
}

describe("image scale and field", () => {
  // Scale: 206264.806 p / f, worked with numpy from the definition of the radian; 6 decimals.
  it.each([
    [3.76, 500, 1.551111],
    [3.76, 1000, 0.775556],
    [3.76, 2000, 0.387778],
    [9, 2032, 0.913574],
    [4.63, 714, 1.337543],
  ])("pixels of %f um at %f mm: %f arcsec/px", (pixelPitchUm, focalLengthMm, scale) => {
    const { imageScale } = computeSampling(makeTelescope({ apertureMm: 100, focalLengthMm, pixelPitchUm }));
    expect(imageScale.value).toBeCloseTo(scale, 6);
  });

  // Exact field 2 atan(w / 2 f) of the gnomonic projection (Calabretta & Greisen 2002); the small-angle form is 4 % off at 50 mm.
  it.each([
    [500, 4.123515],
    [135, 15.189287],
    [50, 39.597753],
  ])("a sensor 36 mm wide at %f mm: %f deg", (focalLengthMm, width) => {
    const train = makeTelescope({ apertureMm: 10, focalLengthMm, pixelPitchUm: 4, widthPx: 9000 });
    expect(computeSampling(train).fieldWidth.value).toBeCloseTo(width, 6);
  });

  // Scale of a public observatory header (PC matrix in degrees), 0.4168703 arcsec/px by astropy 5.2's proj_plane_pixel_scales.
  it("a plate solution of 0.4168703 arcsec/px with pixels of 3.76 um: 1860.42 mm", () => {
    const scale = 3600 * Math.hypot(1.12212319481e-4, 2.85904573777e-5);
    expect(scale).toBeCloseTo(0.4168703, 7);
    expect(computeSolvedFocalLength(scale, 3.76).value).toBeCloseTo(1860.42, 2);
  });

  // Thin lens in a converging beam, 1/d - 1/s = 1/f_R (Smith, Modern Optical Engineering, ch. 2), worked by hand.
  it.each([
    [200, 55, 0.725, 75.862, 20.862, 0.69],
    [300, 60, 0.8, 75, 15, 0.417],
    [220, 48.4, 0.78, 62.051, 13.651, 0.583],
  ])(
    "a reducer of %f mm at %f mm: factor %f, object at %f mm, focus in by %f mm, %f %% each mm",
    (focalLengthMm, distanceMm, factor, object, shift, percent) => {
      const state = computeReducerState(distanceMm, focalLengthMm);
      expect(state.factor).toBeCloseTo(factor, 4);
      expect(state.objectDistanceMm).toBeCloseTo(object, 3);
      expect(state.focusShiftMm).toBeCloseTo(shift, 3);
      expect(state.percentPerMm).toBeCloseTo(-percent, 3);
    },
  );
});

describe("diffraction", () => {
  // Smith, Modern Optical Engineering, 4th ed., 9.10, eq. 9.16 (first zero 1.22 lambda N); half-maximum width 1.028994 lambda N as in
  // the Airy class of a public galaxy-image simulation library (1.028993969962188).
  it.each([
    [4, 5.367, 2.264],
    [5, 6.708, 2.83],
    [7, 9.391, 3.962],
    [10, 13.416, 5.659],
  ])("at 0.55 um and f/%f: Airy disc %f um, half-maximum width %f um", (ratio, airy, fwhm) => {
    const train = makeTelescope({ apertureMm: 100, focalLengthMm: 100 * ratio });
    // The table is cut to three decimals; 5.36655 stands in it as 5.367.
    expect(Math.abs(computeSampling(train).airyDiameter.value! - airy)).toBeLessThan(0.00051);
    expect(Math.abs(pickExtra(train, "diffractionFwhm") - fwhm)).toBeLessThan(0.00051);
  });

  // Rayleigh 138.37 / D, half-maximum width 116.73 / D at 550 nm; Dawes 116 / D (Dawes 1867: 4.56 arcsec for one inch = 115.8 / D).
  it.each([
    [60, 2.306, 1.933],
    [100, 1.384, 1.16],
    [130, 1.064, 0.892],
    [200, 0.692, 0.58],
  ])("aperture %f mm: Rayleigh %f arcsec, Dawes %f arcsec", (apertureMm, rayleigh, dawes) => {
    const train = makeTelescope({ apertureMm, focalLengthMm: 600 });
    expect(computeSampling(train).rayleighLimit.value).toBeCloseTo(rayleigh, 3);
    expect(computeSampling(train).dawesLimit.value).toBeCloseTo(dawes, 3);
    expect(pickExtra(train, "diffractionFwhmAngle") * apertureMm).toBeCloseTo(116.73, 2);
  });

  it("differs from Dawes' own 4.56 arcsec for one inch by the rounding of 115.8 to 116: 0.15 %", () => {
    const own = (4.56 * 25.4) / 100;
    const { dawesLimit } = computeSampling(makeTelescope({ apertureMm: 100, focalLengthMm: 600 }));
    expect(dawesLimit.value! / own - 1).toBeCloseTo(0.0015, 4);
  });

  // Annular pupil (Born & Wolf, Principles of Optics, 8.6.2), solved independently with scipy's Bessel functions.
  it.each([
    [0, 1.028994, 1.21967],
    [0.2, 1.0068, 1.1665],
    [0.3, 0.9811, 1.1145],
    [0.4, 0.9486, 1.0577],
    [0.5, 0.9117, 1.0009],
  ])(
    "central obstruction %f: half-maximum width %f, first dark ring at %f lambda N",
    (obstruction, fwhm, zero) => {
      const widths = computeAnnularWidths(obstruction);
      expect(widths.fwhm).toBeCloseTo(fwhm, 4);
      expect(widths.firstDarkDiameter / 2).toBeCloseTo(zero, 4);
    },
  );

  it("has the constants of the Airy pattern to 1e-9: half-maximum width 1.028993969962188, first zero of J1 at 3.8317059702", () => {
    expect(computeAnnularWidths(0).fwhm).toBeCloseTo(1.028993969962188, 9);
    expect(Math.PI * (computeAnnularWidths(0).firstDarkDiameter / 2)).toBeCloseTo(3.8317059702075125, 9);
  });

  // Abramowitz & Stegun, table 9.1: J1(1) = 0.4400505857, J1(5) = -0.3275791376, J1(10) = 0.0434727462.
  it("has the tabulated values of J1", () => {
    expect(computeBesselJ1(1)).toBeCloseTo(0.4400505857, 10);
    expect(computeBesselJ1(5)).toBeCloseTo(-0.3275791376, 10);
    expect(computeBesselJ1(10)).toBeCloseTo(0.0434727462, 10);
    expect(computeBesselJ1(0)).toBeCloseTo(0, 15);
  });

  // Born & Wolf, Principles of Optics, 8.6: the sum of two Airy patterns a Rayleigh limit apart.
  it("dips to 0.735 of the peaks between two stars at Rayleigh's distance", () => {
    const between = 2 * computeAnnularIntensity(1.21967 / 2, 0);
    const peak = computeAnnularIntensity(0, 0) + computeAnnularIntensity(1.21967, 0);
    expect(between / peak).toBeCloseTo(0.735, 3);
  });

  // Born & Wolf 8.5.2: 83.8 % of the light inside the first dark ring, 91.0 % inside the second; sum over rings of the pattern.
  it("keeps 83.78 % of the light inside the first dark ring and 90.99 % inside the second", () => {
    const enclose = (radius: number): number => {
      const rings = 4000;
      let sum = 0;
      for (let ring = 0; ring < rings; ring++) {
        const r = ((ring + 0.5) * radius) / rings;
        sum += computeAnnularIntensity(r, 0) * 2 * Math.PI * r * (radius / rings);
      }
      // Whole light of the pattern with peak 1: 4 / pi in (lambda N)^2.
      return sum * (Math.PI / 4);
    };
    expect(enclose(1.2196699)).toBeCloseTo(0.837785, 5);
    expect(enclose(2.2331306)).toBeCloseTo(0.909931, 5);
  });
});

describe("depth of focus", () => {
  // Quarter-wave rule 2 lambda N^2 (Born & Wolf; Smith 9.8), to either side.
  it.each([
    [4, 17.6],
    [5, 27.5],
    [7, 53.9],
    [10, 110],
  ])("at 0.55 um and f/%f: +- %f um", (ratio, depth) => {
    const train = makeTelescope({ apertureMm: 100, focalLengthMm: 100 * ratio });
    expect(computeSampling(train).depthOfFocus.value).toBeCloseTo(depth, 8);
    expect(pickExtra(train, "depthOfFocusTotal")).toBeCloseTo(2 * depth, 8);
  });

  // Variance of a uniform disc of defocus, z^2 / (16 N^2), added to that of a star of 5 um FWHM: 5.527 um at 20 um, f/5.
  it("a star of 5 um at f/5 grows by a tenth at 19.5 um of defocus", () => {
    const train = makeTelescope({ apertureMm: 100, focalLengthMm: 500, pixelPitchUm: 5 });
    const night = { fwhmCentrePx: { value: 1, unit: "px" as const, lo: 1, hi: 1, n: 9 } };
    const tolerance = pickExtra(train, "focusToleranceMeasured", night);
    expect(tolerance).toBeCloseTo(19.5, 1);
    const sigma = 5 / 2.35482;
    expect((2.35482 * Math.sqrt(sigma ** 2 + tolerance ** 2 / 400)) / 5).toBeCloseTo(1.1, 6);
    expect(2.35482 * Math.sqrt(sigma ** 2 + 20 ** 2 / 400)).toBeCloseTo(5.527, 3);
  });
});

describe("glass", () => {
  // Schott data sheet N-BK7: n_d 1.51680, n_F 1.52238, n_C 1.51432, V_d 64.17. Malitson 1965: fused silica n_d 1.45846, V_d 67.82.
  it("N-BK7: 1.516800 at 587.56 nm, 1.522376 at 486.13, 1.514322 at 656.27, Abbe number 64.17", () => {
    const [d, f, c] = [0.5875618, 0.4861327, 0.6562725].map((wavelength) =>
      computeGlassIndex(crownGlass, wavelength),
    );
    expect(d).toBeCloseTo(1.5168, 5);
    expect(f).toBeCloseTo(1.522376, 5);
    expect(c).toBeCloseTo(1.514322, 5);
    expect((d - 1) / (f - c)).toBeCloseTo(64.167, 2);
  });

  it("fused silica: 1.458464 at 587.56 nm, Abbe number 67.82", () => {
    const [d, f, c] = [0.5875618, 0.4861327, 0.6562725].map((wavelength) =>
      computeGlassIndex(fusedSilica, wavelength),
    );
    expect(d).toBeCloseTo(1.458464, 5);
    expect((d - 1) / (f - c)).toBeCloseTo(67.82, 1);
  });

  // Smith, Modern Optical Engineering, 4th ed. (2008), fig. 7.14.
  it.each([
    [2, 1.5168, 0.68143],
    [3, 1.5168, 1.02215],
    [2, 1.4585, 0.62873],
    [3, 1.5, 1],
  ])("a plate of %f mm with index %f moves the focus by %f mm", (thickness, index, shift) => {
    expect(computePlateShift(thickness, index)).toBeCloseTo(shift, 5);
  });

  // ibid.: exact and third-order longitudinal spherical aberration of 2 mm N-BK7, um; wavefront W040 at 550 nm, waves.
  it.each([
    [2, 24.167, 23.295, 0.662],
    [2.8, 12.108, 11.885, 0.172],
    [4, 5.877, 5.824, 0.0414],
    [5, 3.749, 3.727, 0.0169],
    [7, 1.907, 1.902, 0.0044],
    [10, 0.933, 0.932, 0.0011],
  ])(
    "2 mm of N-BK7 at f/%f: spherical aberration %f um exact, %f um third order, %f waves",
    (ratio, exact, third, waves) => {
      expect(1000 * computePlateSpherical(2, 1.5168, ratio)).toBeCloseTo(exact, 3);
      expect(1000 * computePlateSphericalThirdOrder(2, 1.5168, ratio)).toBeCloseTo(third, 3);
      expect(computePlateWavefront(2, 1.5168, ratio) / 0.00055).toBeCloseTo(waves, waves > 0.1 ? 3 : 4);
    },
  );

  // Slow twin: a ray traced through the plate by Snell's law.
  it("agrees with a ray traced through the plate to 1e-12 mm at f/2.8", () => {
    const angle = computeConeAngle(2.8);
    const height = 10;
    const inside = Math.asin(Math.sin(angle) / 1.5168);
    const behind = height - 2 * Math.tan(inside);
    const crossing = 2 + behind / Math.tan(angle);
    expect(crossing - height / Math.tan(angle)).toBeCloseTo(computeMarginalPlateShift(2, 1.5168, 2.8), 12);
  });

  // ibid., tilted plate; at 45 deg "about a quarter of the thickness" of astigmatism, 0.2691 t exactly.
  it.each([
    [1, 11.895, 0.227],
    [5, 59.64, 5.69],
  ])(
    "2 mm of N-BK7 tilted by %f deg: image moved by %f um, line foci %f um apart",
    (degrees, offset, astigmatism) => {
      const tilt = (degrees * Math.PI) / 180;
      expect(1000 * computeTiltedPlateOffset(2, 1.5168, tilt)).toBeCloseTo(offset, 2);
      expect(1000 * computeTiltedPlateAstigmatism(2, 1.5168, tilt)).toBeCloseTo(astigmatism, 2);
    },
  );

  it("a plate at 45 deg has 0.2691 of its thickness in astigmatism", () => {
    expect(computeTiltedPlateAstigmatism(1, 1.5168, Math.PI / 4)).toBeCloseTo(0.2691, 4);
  });

  // From the Sellmeier indices: axial colour F - C of 2 mm, 6.99 um (Smith's form t (n - 1) / (n^2 V): 7.00).
  it("2 mm of N-BK7 part the foci of F and C by 6.99 um", () => {
    const shiftAt = (wavelength: number) => computePlateShift(2, computeGlassIndex(crownGlass, wavelength));
    expect(1000 * (shiftAt(0.4861327) - shiftAt(0.6562725))).toBeCloseTo(6.99, 2);
  });

  it("one third of the thickness is right for 1.5, 2.2 % low for N-BK7, 6 % high for fused silica", () => {
    expect(1 / 3 / computePlateShift(1, 1.5168) - 1).toBeCloseTo(-0.0217, 4);
    expect(1 / 3 / computePlateShift(1, 1.458464) - 1).toBeCloseTo(0.0604, 4);
  });
});
