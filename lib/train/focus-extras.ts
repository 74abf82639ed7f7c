import { evaluateFormula, type FormulaInput } from "../maths/formula.ts";
import { makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import type { Extra } from "./extra.ts";
import { computeSampling, listTrainInputs, type MeasuredNights } from "./sampling.ts";

/** A tenth: about the smallest growth of the stars that is seen in a picture (chosen). */
const growthAllowed = 0.1;

/** How far the sensor may be from focus, for diffraction and for stars as wide as nights make them. */
export function listFocusExtras(train: TrainRecord, measured: MeasuredNights, wavelengthNm: number): Extra[] {
  const { focalRatio, pitch } = listTrainInputs(train, measured, wavelengthNm);
  const { depthOfFocus, pixelsPerSeeing, imageScale } = computeSampling(train, measured, wavelengthNm);
  const obstruction = train.telescope.obstructionMm / train.telescope.apertureMm;
  const tolerate = (width: FormulaInput): Quantity =>
    evaluateFormula({
      formula: "4 * N * w * p / 2.35482 * sqrt((1 + x) ^ 2 - 1) / sqrt(1 + epsilon ^ 2)",
      inputs: {
        N: focalRatio,
        w: width,
        p: pitch,
        x: { value: growthAllowed, unit: null },
        epsilon: { value: obstruction, unit: null },
      },
      unit: "um",
      source: "variance of an evenly lit ring of defocus, z^2 (1 + epsilon^2) / (16 N^2); second moments add",
      assumes: "To either side of best focus; star width turned into a standard deviation as for a Gaussian.",
    });
  const ofAngle = (angle: number): FormulaInput =>
    evaluateFormula({
      formula: "w / s",
      inputs: { w: { value: angle, unit: "arcsec" }, s: imageScale },
      unit: "px",
      source: "width over image scale",
    });
  return [
    {
      id: "depthOfFocusTotal",
      name: "Depth of focus, from end to end",
      quantity: evaluateFormula({
        formula: "2 * z",
        inputs: { z: depthOfFocus },
        unit: "um",
        source: "quarter-wave rule, both sides of best focus (Born & Wolf, Principles of Optics)",
      }),
      explanation:
        "The whole zone in which diffraction hides a focus error. Some texts state this number, others half of it.",
    },
    {
      id: "focusToleranceMeasured",
      name: "Focus error that widens the measured stars by a tenth",
      quantity:
        pixelsPerSeeing.value === null ? makeUnknown("um", pixelsPerSeeing.why) : tolerate(pixelsPerSeeing),
      explanation:
        "Plus or minus. On the nights measured, a focus error below this hardly shows; tilt and curvature of the field draw on the same allowance.",
    },
    {
      id: "focusTolerance2Arcsec",
      name: "The same for stars of 2 arcsec",
      quantity: tolerate(ofAngle(2)),
      explanation:
        "Plus or minus, on a steady night: what focus, tilt and field curvature together may cost.",
    },
    {
      id: "focusTolerance4Arcsec",
      name: "The same for stars of 4 arcsec",
      quantity: tolerate(ofAngle(4)),
      explanation: "Plus or minus, on a poor night: wide stars hide more of the focus error.",
    },
  ];
}
