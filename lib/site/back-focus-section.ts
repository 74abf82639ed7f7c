import type { TrainResults } from "../report/results.ts";
import { readTrainRecord } from "./describe-train.ts";
import { formatNumber, formatPlain } from "./format-number.ts";
import type { PageTable } from "./page-table.ts";
import { makeColumn, makeTextCell } from "./page-table.ts";
import type { WorkedNumber } from "./worked-number.ts";
import { makeWorkedNumber } from "./worked-number.ts";

export interface PageBackFocus {
  table: PageTable;
  numbers: WorkedNumber[];
  /** What to add or remove, in one sentence. */
  sentence: string;
}

/** Below this the sum of tolerances of ordinary rings is larger than the error (common practice, no source). */
const closeEnoughMm = 0.05;

/** What the records say of the distance; stars of several spacings overrule them, and so does what the owner allows. */
function sayMove(results: TrainResults, errorMm: number | null): string {
  if (errorMm === null)
    return "The records do not tell how far the sensor stands from the required back focus.";
  const size = `${formatNumber(Math.abs(errorMm), 2)}\u00a0mm`;
  if (Math.abs(errorMm) < closeEnoughMm) {
    return `By the records the sensor stands within ${formatNumber(closeEnoughMm, 2)}\u00a0mm of the required back focus: nothing to add or remove.`;
  }
  const told = `By the records the sensor is ${size} ${errorMm > 0 ? "too far away" : "too close"}`;
  const stage = results.ledger?.stage;
  if (results.ledger?.stop || stage === "optimum" || stage === "bracket")
    return `${told}. What the stars say of it comes first: see “Spacings tried”.`;
  const allowed = readTrainRecord(results).tolerances?.spacingErrorMm;
  if (allowed !== undefined && Math.abs(errorMm) <= allowed)
    return `${told}, within the ${formatNumber(allowed, 2)}\u00a0mm allowed.`;
  return `${told}: ${errorMm > 0 ? "remove" : "add"} ${size} between corrector and camera.`;
}

/** The stack line by line and the numbers that follow from it; null where the train has no corrector. */
export function makeBackFocusSection(results: TrainResults): PageBackFocus | null {
  const { backFocus } = results;
  if (backFocus === null) return null;
  const { lines } = backFocus;
  const table: PageTable = {
    id: "tbl-back-focus",
    number: 0,
    remarks: [],
    caption:
      "The stack line by line, from the corrector to the sensor: length, glass shift, distance and clear width",
    note: "Glass moves the focus away from the telescope, so it lengthens the required distance. “From sensor” is the distance of the part’s front end.",
    columns: [
      makeColumn("Part"),
      makeColumn("Length, mm", true),
      makeColumn("Glass shift, mm", true),
      makeColumn("From sensor, mm", true),
      makeColumn("Clear diameter, mm", true),
    ],
    rows: lines.map((line) => [
      makeTextCell(line.part),
      makeTextCell(formatNumber(line.lengthMm, 2)),
      makeTextCell(formatNumber(line.plateShiftMm, 3)),
      makeTextCell(formatNumber(line.fromSensorMm, 2)),
      makeTextCell(line.clearDiameterMm === null ? null : formatPlain(line.clearDiameterMm)),
    ]),
    csv: {
      columns: [
        { key: "part", heading: "Part" },
        { key: "length_mm", heading: "Length, mm" },
        { key: "plate_shift_mm", heading: "Glass shift, mm" },
        { key: "from_sensor_mm", heading: "From sensor, mm" },
        { key: "clear_diameter_mm", heading: "Clear diameter, mm" },
      ],
      rows: lines.map((line) => [
        line.part,
        line.lengthMm,
        line.plateShiftMm,
        line.fromSensorMm,
        line.clearDiameterMm,
      ]),
    },
  };
  const numbers = [
    makeWorkedNumber(
      "back-focus-required",
      "Required, in air",
      "The distance from the corrector’s rear shoulder to the sensor that its maker asks for, with no glass between.",
      backFocus.required,
    ),
    makeWorkedNumber(
      "back-focus-plate-shift",
      "Shift by glass",
      "Filters and windows move the focus back, so the sensor has to stand this much farther away.",
      backFocus.plateShift,
    ),
    makeWorkedNumber(
      "back-focus-rule-of-thumb",
      "The same by the one-third rule",
      "A third of the glass thickness, as often reckoned in the field. It stands here to be compared.",
      backFocus.plateShiftRuleOfThumb,
    ),
    makeWorkedNumber(
      "back-focus-mechanical",
      "Mechanical length",
      "The sum of all parts, from the shoulder to the sensor.",
      backFocus.mechanical,
    ),
    makeWorkedNumber(
      "back-focus-spacing-error",
      "Spacing error",
      "Mechanical length less what is required with the glass. Positive: the sensor is too far away.",
      backFocus.spacingError,
      { sign: true },
    ),
  ];
  return { table, numbers, sentence: sayMove(results, backFocus.spacingError.value) };
}
