import { makeExact, makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import type { EquipmentLine } from "../report/results.ts";
import { computeSampling } from "../train/sampling.ts";
import { type PartSum, sumLengthMm, sumWeightG } from "../train/sum-equipment.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { computeSpacingTolerance } from "./spacing-tolerance.ts";

interface Asked {
  id: string;
  name: string;
  read: (side: ComparisonSide) => Quantity;
  changeIs: EquipmentLine["changeIs"];
  explanation: string;
}

function readSampling(side: ComparisonSide) {
  return side.trainResults?.sampling ?? computeSampling(side.train.record);
}

function readSum(sum: PartSum, unit: Unit): Quantity {
  return sum.value === null
    ? makeUnknown(unit, `Not on record for ${sum.unstated.join(", ")}.`)
    : makeExact(sum.value, unit, { source: "the record of the train" });
}

/** Diameter that passes light, squared, mm2: aperture less the obstruction. */
function computeOpenSquare({ train }: ComparisonSide): number {
  const { apertureMm, obstructionMm } = train.record.telescope;
  return apertureMm ** 2 - obstructionMm ** 2;
}

/** The colour channel that stands for the light: the only one, or green. */
function readIllumination({ results }: ComparisonSide) {
  const channels = results?.illumination ?? null;
  if (channels === null) return null;
  const name = ["L", "G"].find((key) => channels[key] !== undefined) ?? Object.keys(channels)[0];
  return name === undefined ? null : channels[name];
}

const noFlats = "No flat of this test was measured.";

function readLateral({ results }: ComparisonSide): Quantity {
  const pairs = results?.colour?.pairs ?? [];
  const pair = pairs.find(({ of, against }) => of === "B" && against === "R") ?? pairs[0];
  return pair?.lateralAtCorner ?? makeUnknown("um", "Colours were not measured against each other.");
}

/** Full diagonal of the field, and so on: what is looked up, in the order in which the page lists it. */
const asked: readonly Asked[] = [
  {
    id: "focalLength",
    name: "Focal length",
    read: (side) => readSampling(side).focalLength,
    changeIs: "ratio",
    explanation: "As the record or a plate solution has it.",
  },
  {
    id: "focalRatio",
    name: "Focal ratio",
    read: (side) => readSampling(side).focalRatio,
    changeIs: "ratio",
    explanation: "Focal length over aperture.",
  },
  {
    id: "imageScale",
    name: "Image scale",
    read: (side) => readSampling(side).imageScale,
    changeIs: "ratio",
    explanation: "Sky on one pixel.",
  },
  {
    id: "fieldWidth",
    name: "Field, width",
    read: (side) => readSampling(side).fieldWidth,
    changeIs: "ratio",
    explanation: "Long side of the frame on the sky.",
  },
  {
    id: "fieldHeight",
    name: "Field, height",
    read: (side) => readSampling(side).fieldHeight,
    changeIs: "ratio",
    explanation: "Short side of the frame on the sky.",
  },
  {
    id: "sampling",
    name: "Pixels to a star at the centre",
    read: ({ results }) =>
      results?.zones?.centre.fwhm.px ?? makeUnknown("px", "No star field of this test was measured."),
    changeIs: "ratio",
    explanation: "FWHM in pixels on that night. Below 2 a star is undersampled.",
  },
  {
    id: "diffraction",
    name: "Diffraction on the sensor",
    read: (side) => readSampling(side).airyDiameter,
    changeIs: "ratio",
    explanation: "Diameter of Airy's disc: what the aperture alone makes of a star.",
  },
  {
    id: "lightPerPixel",
    name: "Light of the sky on one pixel",
    read: (side) => {
      const { pixelPitchUm } = side.train.record.camera;
      const focal = readSampling(side).focalLength;
      if (focal.value === null) return makeUnknown("ratio", focal.why);
      return makeExact((computeOpenSquare(side) * pixelPitchUm ** 2) / focal.value ** 2, "ratio", {
        formula: "(D^2 - d^2) * p^2 / f^2",
        assumes:
          "Equal transmission and quantum efficiency; in um2, only the ratio of the two sides means anything.",
      });
    },
    changeIs: "ratio",
    explanation: "From a nebula or the sky, of equal exposures; glass and sensor taken as equally good.",
  },
  {
    id: "lightPerArea",
    name: "Light from one square arcsecond",
    read: (side) =>
      makeExact(computeOpenSquare(side), "ratio", {
        formula: "D^2 - d^2",
        assumes:
          "Equal transmission and quantum efficiency; in mm2, only the ratio of the two sides means anything.",
      }),
    changeIs: "ratio",
    explanation: "Set by the open aperture alone: a reducer spreads it over fewer pixels and adds none.",
  },
  {
    id: "falloff",
    name: "Light lost to the corners",
    read: (side) => readIllumination(side)?.falloff ?? makeUnknown("stop", noFlats),
    changeIs: "difference",
    explanation: "Mean of the four corners, from the flats.",
  },
  {
    id: "fullyLit",
    name: "Fully lit radius",
    read: (side) => readIllumination(side)?.fullyLitRadius ?? makeUnknown("mm", noFlats),
    changeIs: "difference",
    explanation: "Within it the light stays above 99 % of the brightest.",
  },
  {
    id: "lateralColour",
    name: "Colour apart in the corners",
    read: readLateral,
    changeIs: "difference",
    explanation: "How far blue lies outside red at the corner.",
  },
  {
    id: "spacingError",
    name: "Spacing error that night",
    read: ({ results }) =>
      results?.spacingError ?? makeUnknown("mm", "There is no corrector, so no spacing to keep."),
    changeIs: "difference",
    explanation: "Mechanical length less what the corrector and the glass ask for; positive: too far.",
  },
  {
    id: "spacingTolerance",
    name: "Corner blur from 0.1 mm of spacing",
    read: computeSpacingTolerance,
    changeIs: "ratio",
    explanation: "The optics' own blur that 0.1 mm off the best spacing makes in the corners, refocused.",
  },
  {
    id: "tilt",
    name: "Tilt across the diagonal",
    read: ({ results }) =>
      results?.sweep?.tiltAcross ??
      results?.field?.tiltAcross ??
      makeUnknown("um", "No field model was fitted."),
    changeIs: "difference",
    explanation: "Of the focal surface that night: a matter of the set-up, not of the optics.",
  },
  {
    id: "weight",
    name: "Weight",
    read: ({ train }) => readSum(sumWeightG(train.record), "g"),
    changeIs: "difference",
    explanation: "Telescope, corrector, rings and camera.",
  },
  {
    id: "length",
    name: "Length",
    read: ({ train }) => readSum(sumLengthMm(train.record), "mm"),
    changeIs: "difference",
    explanation: "From the telescope's front to the camera's back.",
  },
];

/** b over a, or b minus a; intervals joined in quadrature. Null where either is not known. */
export function stateChange(a: Quantity, b: Quantity, how: EquipmentLine["changeIs"]): Quantity | null {
  if (how === null || a.value === null || b.value === null) return null;
  if (how === "difference") {
    const value = b.value - a.value;
    const down = Math.hypot(b.value - b.lo, a.hi - a.value);
    const up = Math.hypot(b.hi - b.value, a.value - a.lo);
    return makeMeasured(value, a.unit, value - down, value + up, a.n + b.n);
  }
  if (!(a.value > 0 && b.value > 0 && a.lo > 0)) return null;
  const ratio = b.value / a.value;
  const down = Math.hypot((b.value - b.lo) / b.value, (a.hi - a.value) / a.value);
  const up = Math.hypot((b.hi - b.value) / b.value, (a.value - a.lo) / a.value);
  return makeMeasured(ratio, "ratio", ratio * Math.max(0, 1 - down), ratio * (1 + up), a.n + b.n);
}

/** Everything beside sharpness that a reader compares, line by line; what is not known says why. */
export function compareEquipment({ a, b }: Pick<ComparisonRequest, "a" | "b">): EquipmentLine[] {
  return asked.map(({ id, name, read, changeIs, explanation }) => {
    const [first, second] = [read(a), read(b)];
    const change = stateChange(first, second, changeIs);
    return { id, name, a: first, b: second, change, changeIs, explanation };
  });
}
