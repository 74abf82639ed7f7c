import { evaluateFormula } from "../maths/formula.ts";
import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";

export type FocalLengthSource = "plate solution" | "record" | "header";

export interface FocalLengthChoice {
  /** mm */
  focalLength: Quantity;
  from: FocalLengthSource;
  /** Sentences for the page, one for each source that disagrees. */
  warnings: string[];
}

/** Where sources differ by more than this, something is wrong: a makers' focal length is true to about one percent. */
const disagreementAllowed = 0.02;

/** Focal length with the corrector as the record has it: telescope's times factor, mm. */
export function computeNominalFocalLength(train: TrainRecord): Quantity {
  const { telescope, corrector } = train;
  if (corrector === null) {
    return makeExact(telescope.focalLengthMm, "mm", {
      formula: "f",
      working: `(${telescope.focalLengthMm} mm)`,
      source: "the record of the train",
      assumes: "The maker's focal length is true; no corrector is in the train.",
    });
  }
  return evaluateFormula({
    formula: "m * f",
    inputs: {
      m: { value: corrector.factor, unit: null },
      f: { value: telescope.focalLengthMm, unit: "mm" },
    },
    unit: "mm",
    source: "thin lens in a converging beam (Smith, Modern Optical Engineering, ch. 2)",
    assumes: "The maker's factor holds; it does so only at the spacing the corrector was designed for.",
  });
}

/** Focal length from the scale of a plate solution, mm; the pitch is that of the pixels as stored, binning counted in. */
export function computeSolvedFocalLength(arcsecPerPx: number, pixelPitchUm: number): Quantity {
  return evaluateFormula({
    formula: "206264.806 arcsec * p / s",
    inputs: {
      p: { value: pixelPitchUm, unit: "um/px" },
      s: { value: arcsecPerPx, unit: "arcsec/px" },
    },
    unit: "mm",
    source:
      "image scale, 1 rad = 206264.806 arcsec; scale from the frame's world coordinates (Greisen & Calabretta 2002, A&A 395:1061)",
    assumes: "The frame was solved as it is stored, and the pixel pitch on record is right.",
  });
}

/**
 * The focal length to measure with. A plate solution is a measurement of this very train and comes first; the record is
 * next; a header's focal length is whatever was typed into the capturing computer and serves only where nothing else does.
 * Any two that differ by more than 2 % bring a warning that names both numbers.
 *
 * @param wcsScale - arcsec for each stored pixel, null without a plate solution
 * @param pixelPitch - um for each stored pixel (pitch times binning)
 */
export function chooseFocalLength({
  record,
  headerFocalLength,
  wcsScale,
  pixelPitch,
}: {
  record: TrainRecord | null;
  headerFocalLength: number | null;
  wcsScale: number | null;
  pixelPitch: number;
}): FocalLengthChoice {
  const found: { from: FocalLengthSource; focalLength: Quantity; value: number }[] = [];
  const add = (from: FocalLengthSource, focalLength: Quantity) => {
    if (focalLength.value !== null && focalLength.value > 0) {
      found.push({ from, focalLength, value: focalLength.value });
    }
  };
  if (wcsScale !== null && wcsScale > 0)
    add("plate solution", computeSolvedFocalLength(wcsScale, pixelPitch));
  if (record !== null) add("record", computeNominalFocalLength(record));
  if (headerFocalLength !== null) {
    add("header", makeExact(headerFocalLength, "mm", { source: "focal length in the frame's header" }));
  }
  const [chosen, ...others] = found;
  if (chosen === undefined) {
    return {
      focalLength: {
        value: null,
        unit: "mm",
        why: "Neither plate solution, record nor header gives a focal length.",
      },
      from: "record",
      warnings: [],
    };
  }
  const warnings = others
    .filter(({ value }) => Math.abs(value / chosen.value - 1) > disagreementAllowed)
    .map(
      ({ from, value }) =>
        `The ${chosen.from} gives a focal length of ${chosen.value.toFixed(1)} mm, the ${from} ${value.toFixed(1)} mm: ` +
        `${(100 * Math.abs(value / chosen.value - 1)).toFixed(1)} % apart. The ${chosen.from} is used; ` +
        `check binning, pixel pitch${record?.corrector ? ", the corrector's factor" : ""} and the focal length ${from === "header" ? "in the header" : "on record"}.`,
    );
  return { focalLength: chosen.focalLength, from: chosen.from, warnings };
}
