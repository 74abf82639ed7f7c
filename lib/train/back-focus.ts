import { evaluateFormula, type FormulaInput } from "../maths/formula.ts";
import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { TestRecord, TrainRecord } from "../records/types.ts";
import { applyTest, listGlass, listStackLines, type StackLine } from "./stack.ts";

/** The back-focus budget of the results format. */
export interface BackFocus {
  required: Quantity;
  plateShift: Quantity;
  plateShiftRuleOfThumb: Quantity;
  mechanical: Quantity;
  spacingError: Quantity;
  lines: StackLine[];
}

const plateSource = "plane-parallel plate, Smith, Modern Optical Engineering, 4th ed. (2008), fig. 7.14";

/** The back-focus budget of the train as its record has it; null without a corrector, which alone asks for a distance. */
export function computeBackFocus(train: TrainRecord): BackFocus | null {
  if (train.corrector === null) return null;
  const required = makeExact(train.corrector.backFocusMm, "mm", {
    formula: "b",
    working: `(${train.corrector.backFocusMm} mm)`,
    source: "the corrector's record",
    assumes: "Stated by its maker in air, without glass between corrector and sensor.",
  });
  const plateShift = sumPlates(train);
  const lines = listStackLines(train);
  const mechanical = sumLengths(lines);
  return {
    required,
    plateShift,
    plateShiftRuleOfThumb: sumThirds(train),
    mechanical,
    spacingError: evaluateFormula({
      formula: "L - (b + delta)",
      inputs: { L: mechanical, b: required, delta: plateShift },
      unit: "mm",
      source: "glass lengthens the distance required by its shift of the focus (Smith, fig. 7.14)",
      assumes:
        "Lengths on record are those of the parts at hand; a ring screwed home may differ by some hundredths of a mm.",
    }),
    lines,
  };
}

/**
 * Spacing error of one night, mm: positive, the sensor was too far from the corrector. The night's spacers and its filter's
 * glass replace those of the train. Null without a corrector.
 */
export function computeSpacingError(train: TrainRecord, test: TestRecord): Quantity | null {
  return computeBackFocus(applyTest(train, test))?.spacingError ?? null;
}

/** Terms beyond this are not written out one by one: a stack of more plates or parts than any camera carries. */
const termsWritten = 24;

function sumTerms(
  count: number,
  term: (place: string) => string,
  inputs: (index: number) => [string, FormulaInput][],
  source: string,
  sum: () => number,
  assumes: string,
): Quantity {
  if (count === 0) return makeExact(0, "mm", { source, assumes });
  if (count > termsWritten) return makeExact(sum(), "mm", { source, assumes });
  const places = Array.from({ length: count }, (_, index) => (count === 1 ? "" : `_${index + 1}`));
  return evaluateFormula({
    formula: places.map(term).join(" + "),
    inputs: Object.fromEntries(
      places.flatMap((place, index) => inputs(index).map(([name, input]) => [`${name}${place}`, input])),
    ),
    unit: "mm",
    source,
    assumes,
  });
}

function sumPlates(train: TrainRecord): Quantity {
  const plates = listGlass(train);
  return sumTerms(
    plates.length,
    (place) => `t${place} * (1 - 1 / n${place})`,
    (index) => [
      ["t", { value: plates[index].thicknessMm, unit: "mm" }],
      ["n", { value: plates[index].index, unit: null }],
    ],
    plateSource,
    () => plates.reduce((sum, { thicknessMm, index }) => sum + thicknessMm * (1 - 1 / index), 0),
    plates.length === 0
      ? "No glass is on record between corrector and sensor."
      : "Rays near the axis; the edge of the cone is shifted slightly more.",
  );
}

function sumThirds(train: TrainRecord): Quantity {
  const plates = listGlass(train);
  return sumTerms(
    plates.length,
    (place) => `t${place} / 3`,
    (index) => [["t", { value: plates[index].thicknessMm, unit: "mm" }]],
    "one third of the thickness, common practice; exact for n = 1.5",
    () => plates.reduce((sum, { thicknessMm }) => sum + thicknessMm / 3, 0),
    "The glass has an index of about 1.5.",
  );
}

function sumLengths(lines: readonly StackLine[]): Quantity {
  return sumTerms(
    lines.length,
    (place) => `l${place}`,
    (index) => [["l", { value: lines[index].lengthMm, unit: "mm" }]],
    "sum of the parts on record, from the corrector's shoulder to the sensor",
    () => lines.reduce((sum, { lengthMm }) => sum + lengthMm, 0),
    "All threads are screwed home.",
  );
}
