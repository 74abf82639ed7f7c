import { evaluateFormula } from "../maths/formula.ts";
import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import { computeBackFocus } from "./back-focus.ts";
import type { Extra } from "./extra.ts";
import { computeMarginalPlateShift, computePlateSpherical, computePlateWavefront } from "./glass-plate.ts";
import { defaultWavelengthNm, listTrainInputs, type MeasuredNights } from "./sampling.ts";
import { listGlass } from "./stack.ts";

const plateSource = "Smith, Modern Optical Engineering, 4th ed. (2008), fig. 7.14";

/** What else can be said of glass and spacing; empty without a corrector. */
export function listBackFocusExtras(
  train: TrainRecord,
  measured: MeasuredNights = {},
  wavelengthNm = defaultWavelengthNm,
): Extra[] {
  const budget = computeBackFocus(train);
  const { focalRatio } = listTrainInputs(train, measured, wavelengthNm);
  if (budget === null || focalRatio.value === null) return [];
  const extras: Extra[] = [
    {
      id: "requiredWithGlass",
      name: "Distance required with the glass in place",
      quantity: evaluateFormula({
        formula: "b + delta",
        inputs: { b: budget.required, delta: budget.plateShift },
        unit: "mm",
        source: plateSource,
      }),
      explanation:
        "Glass moves the focus back, so with the filter in, the sensor belongs this far behind the corrector.",
    },
    ...listScaleExtras(train),
  ];
  return listGlass(train).length === 0
    ? extras
    : [...extras, ...listPlateExtras(train, focalRatio.value, wavelengthNm)];
}

function listPlateExtras(train: TrainRecord, focalRatio: number, wavelengthNm: number): Extra[] {
  const plates = listGlass(train);
  const sum = (compute: (thicknessMm: number, index: number, focalRatio: number) => number): number =>
    plates.reduce((total, { thicknessMm, index }) => total + compute(thicknessMm, index, focalRatio), 0);
  const beam = `f/${focalRatio.toPrecision(3)}`;
  const state = (value: number, unit: "mm" | "um" | "ratio", formula: string): Quantity =>
    makeExact(value, unit, {
      formula,
      source: plateSource,
      assumes: `The whole cone of an ${beam} beam falls on plates at right angles to it${plates.length > 1 ? `; summed over ${plates.length} plates` : ""}.`,
    });
  return [
    {
      id: "plateShiftMarginal",
      name: "Glass shift for the edge of the cone of light",
      quantity: state(sum(computeMarginalPlateShift), "mm", "t * (1 - cos(U) / sqrt(n ^ 2 - sin(U) ^ 2))"),
      explanation:
        "Rays from the edge of the aperture are moved a little more than those near the axis; the difference is spherical aberration.",
    },
    {
      id: "plateSpherical",
      name: "Spherical aberration from the glass, along the axis",
      quantity: state(
        1000 * sum(computePlateSpherical),
        "um",
        "t / n * (1 - n * cos(U) / sqrt(n ^ 2 - sin(U) ^ 2))",
      ),
      explanation:
        "How far apart the glass puts the foci of edge and axis. It matters where it comes near the depth of focus.",
    },
    {
      id: "plateWavefront",
      name: "Spherical aberration from the glass, in wavelengths",
      quantity: state(
        (1e6 * sum(computePlateWavefront)) / wavelengthNm,
        "ratio",
        "t * (n ^ 2 - 1) * u ^ 4 / (8 * n ^ 3 * lambda)",
      ),
      explanation:
        "The same as an error of the wavefront at the edge of the aperture, before refocusing. Below a quarter it does no harm.",
    },
  ];
}

/** How the focal length follows the spacing, from the thin lens that has the maker's factor at the maker's distance. */
function listScaleExtras(train: TrainRecord): Extra[] {
  const { corrector } = train;
  if (corrector === null || corrector.factor === 1 || !(corrector.backFocusMm > 0)) return [];
  return [
    {
      id: "scalePerMillimetre",
      name: "Change of focal length for one millimetre more spacing",
      quantity: evaluateFormula({
        formula: "-(1 - m) * 1 mm / (m * d)",
        inputs: {
          m: { value: corrector.factor, unit: null },
          d: { value: corrector.backFocusMm, unit: "mm" },
        },
        unit: "percent",
        source: "thin lens, m = 1 - d / f_R (Smith, Modern Optical Engineering, ch. 2)",
        assumes:
          "The corrector acts as one thin lens at its reference face; a real one differs, in size rather than in sign.",
      }),
      explanation:
        "Spacing alters the focal length as well as the corners; stars matched between two spacings show it.",
    },
  ];
}
