import { evaluateFormula, type FormulaInput } from "../maths/formula.ts";
import type { TrainRecord } from "../records/types.ts";
import type { Extra } from "./extra.ts";
import { computeSampling, type MeasuredNights } from "./sampling.ts";

/** What corrector and obstruction do to the light. */
export function listLightExtras(train: TrainRecord, measured: MeasuredNights, wavelengthNm: number): Extra[] {
  const { lightGrasp, focalRatio } = computeSampling(train, measured, wavelengthNm);
  const { apertureMm, obstructionMm } = train.telescope;
  const D: FormulaInput = { value: apertureMm, unit: "mm" };
  const extras: Extra[] = [
    {
      id: "lightGraspStops",
      name: "Light for each pixel against the bare telescope, in stops",
      quantity: evaluateFormula({
        formula: "log2(G)",
        inputs: { G: lightGrasp },
        unit: "stop",
        source: "one stop is a factor of two",
      }),
      explanation:
        "The gain for sky and nebula as a photographer counts it: plus one stop halves the exposure for the same signal in a pixel.",
    },
    {
      id: "lightPerSky",
      name: "Light from each square arcsecond against the bare telescope",
      quantity: evaluateFormula({
        formula: "(D_used / D_native) ^ 2",
        inputs: { D_used: D, D_native: D },
        unit: "ratio",
        source: "the collecting area alone sets it",
        assumes: "The corrector cuts nothing off the beam and its glass takes no light.",
      }),
      explanation:
        "A corrector gathers no light: it puts the same light from the same piece of sky on fewer or more pixels.",
    },
  ];
  if (!(obstructionMm > 0) || obstructionMm >= apertureMm) return extras;
  const d: FormulaInput = { value: obstructionMm, unit: "mm" };
  return [
    ...extras,
    {
      id: "lightObstructed",
      name: "Light that the central obstruction leaves",
      quantity: evaluateFormula({
        formula: "1 - (d / D) ^ 2",
        inputs: { d, D },
        unit: "percent",
        source: "ratio of areas",
        assumes: "Coatings and supports are left out.",
      }),
      explanation: "The part of the aperture that is open to the sky.",
    },
    {
      id: "photographicRatio",
      name: "Focal ratio of an open aperture that is as bright",
      quantity: evaluateFormula({
        formula: "N / sqrt(1 - (d / D) ^ 2)",
        inputs: { N: focalRatio, d, D },
        unit: "ratio",
        source: "equal collecting area",
        assumes: "Coatings and supports are left out.",
      }),
      explanation: "An unobstructed telescope of this focal ratio would put the same light on a pixel.",
    },
  ];
}
