import { evaluateFormula, type FormulaInput } from "../maths/formula.ts";
import { type KnownQuantity, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { median } from "../maths/statistics.ts";
import type { TrainRecord } from "../records/types.ts";
import { airyDiameterFactor } from "./diffraction.ts";
import { computeNominalFocalLength } from "./focal-length.ts";

/** The numbers of the results format's `sampling`. */
export type SamplingName =
  | "focalLength"
  | "focalRatio"
  | "imageScale"
  | "fieldWidth"
  | "fieldHeight"
  | "fieldDiagonal"
  | "airyDiameter"
  | "dawesLimit"
  | "rayleighLimit"
  | "depthOfFocus"
  | "pixelsPerSeeing"
  | "lightGrasp";

export type Sampling = Record<SamplingName, Quantity>;

/** What the nights add to the record; everything is optional. */
export interface MeasuredNights {
  /** Half-maximum width of stars in the centre zone, px: one night's, or one for each night. */
  fwhmCentrePx?: Quantity | readonly Quantity[];
  /** Focal length from a plate solution, mm; stands in for the record's. */
  focalLengthMm?: Quantity;
}

/** Green, where eye and most sensors see best: the wavelength of handbooks. */
export const defaultWavelengthNm = 550;

/** The record's numbers as inputs to formulas. */
export function listTrainInputs(train: TrainRecord, measured: MeasuredNights, wavelengthNm: number) {
  const focalLength: Quantity =
    measured.focalLengthMm !== undefined && measured.focalLengthMm.value !== null
      ? measured.focalLengthMm
      : computeNominalFocalLength(train);
  const aperture: FormulaInput = { value: train.telescope.apertureMm, unit: "mm" };
  return {
    focalLength,
    aperture,
    pitch: { value: train.camera.pixelPitchUm, unit: "um/px" } as FormulaInput,
    wavelength: { value: wavelengthNm, unit: "nm" } as FormulaInput,
    focalRatio: evaluateFormula({
      formula: "f / D",
      inputs: { f: focalLength, D: aperture },
      unit: "ratio",
      source: "definition of the focal ratio",
    }),
  };
}

/**
 * Sampling, field and diffraction of a train. Exact where they follow from the record; with an interval where the focal length
 * was measured. Field: mm and px of the record's whole sensor, unbinned, without distortion (gnomonic).
 *
 * `depthOfFocus` is to either side of best focus (plus or minus); `lightGrasp` is light for each pixel, and so for each area
 * of sensor, against the telescope without corrector.
 *
 * @param wavelengthNm - of the filter, 550 where left out
 */
export function computeSampling(
  train: TrainRecord,
  measured: MeasuredNights = {},
  wavelengthNm = defaultWavelengthNm,
): Sampling {
  const { focalLength, aperture, pitch, wavelength, focalRatio } = listTrainInputs(
    train,
    measured,
    wavelengthNm,
  );
  const across = (count: number): Quantity =>
    evaluateFormula({
      formula: "2 * atan(n * p / (2 * f))",
      inputs: { n: { value: count, unit: "px" }, p: pitch, f: focalLength },
      unit: "deg",
      source: "gnomonic projection (Calabretta & Greisen 2002, A&A 395:1077, TAN)",
      assumes: "The optics draw straight lines straight.",
    });
  return {
    focalLength,
    focalRatio,
    imageScale: evaluateFormula({
      formula: "206264.806 arcsec * p / f",
      inputs: { p: pitch, f: focalLength },
      unit: "arcsec/px",
      source: "small angle, 1 rad = 206264.806 arcsec",
      assumes: "Pixels are not binned; the scale holds at the field's centre.",
    }),
    fieldWidth: across(train.camera.widthPx),
    fieldHeight: across(train.camera.heightPx),
    fieldDiagonal: evaluateFormula({
      formula: "2 * atan(p * sqrt(n_x ^ 2 + n_y ^ 2) / (2 * f))",
      inputs: {
        n_x: { value: train.camera.widthPx, unit: "px" },
        n_y: { value: train.camera.heightPx, unit: "px" },
        p: pitch,
        f: focalLength,
      },
      unit: "deg",
      source: "gnomonic projection (Calabretta & Greisen 2002, A&A 395:1077, TAN)",
      assumes: "The optics draw straight lines straight.",
    }),
    airyDiameter: evaluateFormula({
      formula: `${airyDiameterFactor} * lambda * N`,
      inputs: { lambda: wavelength, N: focalRatio },
      unit: "um",
      source: "twice the first zero, 1.219670 lambda N (Smith, Modern Optical Engineering, 4th ed., 9.10)",
      assumes:
        train.telescope.obstructionMm > 0
          ? "A clear aperture; the central obstruction narrows the disc and feeds the rings, see the annular value."
          : "A clear round aperture without aberrations.",
    }),
    dawesLimit: evaluateFormula({
      formula: "116 arcsec * mm / D",
      inputs: { D: aperture },
      unit: "arcsec",
      source:
        "Dawes 1867, Mem. R. Astron. Soc. 35:137: 4.56 arcsec for one inch, 115.8 for one mm, rounded to 116 as usual",
      assumes: "Two equal, fairly bright stars seen by eye; an experience, not a law of optics.",
    }),
    rayleighLimit: evaluateFormula({
      formula: "1.21967 rad * lambda / D",
      inputs: { lambda: wavelength, D: aperture },
      unit: "arcsec",
      source:
        "Rayleigh's criterion, first zero of the Airy pattern (Smith, Modern Optical Engineering, 4th ed., 9.10)",
      assumes: "A clear round aperture; no air above it.",
    }),
    depthOfFocus: evaluateFormula({
      formula: "2 * lambda * N ^ 2",
      inputs: { lambda: wavelength, N: focalRatio },
      unit: "um",
      source: "quarter-wave rule (Born & Wolf, Principles of Optics; Smith, Modern Optical Engineering, 9.8)",
      assumes: "To either side of best focus; the whole depth is twice as much. Seeing widens it.",
    }),
    pixelsPerSeeing: summarizeNights(measured.fwhmCentrePx),
    lightGrasp: evaluateFormula({
      formula: "(f_native / f_used) ^ 2",
      inputs: { f_native: { value: train.telescope.focalLengthMm, unit: "mm" }, f_used: focalLength },
      unit: "ratio",
      source: "illuminance of an extended object goes as 1 / N^2 (Smith, Modern Optical Engineering, ch. 9)",
      assumes: "The same aperture is used, and the corrector's glass takes no light.",
    }),
  };
}

/** Median of the nights; each end of the interval is the median of the nights' own ends, which is never too narrow. */
function summarizeNights(given: Quantity | readonly Quantity[] | undefined): Quantity {
  const nights = given === undefined ? [] : "unit" in given ? [given] : given;
  const known = nights.filter((night): night is KnownQuantity => night.value !== null);
  if (known.length === 0) {
    const unknown = nights.find((night) => night.value === null);
    return makeUnknown(
      "px",
      unknown?.value === null ? unknown.why : "No star field of this train has been measured yet.",
    );
  }
  return makeMeasured(
    median(known.map(({ value }) => value)),
    "px",
    median(known.map(({ lo }) => lo)),
    median(known.map(({ hi }) => hi)),
    known.reduce((sum, { n }) => sum + n, 0),
    {
      source: "measured: half-maximum width of the stars in the centre zone",
      assumes:
        known.length === 1
          ? "It holds for the night measured; the optics and the tracking are in it."
          : `Median of ${known.length} nights; the optics and the tracking are in it.`,
    },
  );
}
