import { formatShortDate } from "../maths/format-date.ts";
import type { KnownQuantity } from "../maths/quantity.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import { drawWidthAxis, type PlotArea } from "./axes.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { dashes, drawMark, pickColour, type Slot } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, formatSigned, makeScale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { fitText } from "./text-width.ts";
import { isKnown, listStarTests, listUnitFactors, nameTrain, unitNames, widthUnits } from "./words.ts";

const id = "fig-history";
const area: PlotArea = { left: 46, right: figureWidth - 92, top: 34, bottom: 210 };

interface Row {
  test: TestResults;
  centre: KnownQuantity;
  corner: KnownQuantity;
}

function listRows(results: TrainResults): Row[] {
  return listStarTests(results).flatMap((test) => {
    const centre = test.zones?.centre.fwhm.um;
    const corner = test.zones?.corner.fwhm.um;
    return isKnown(centre) && isKnown(corner) && centre.value > 0 ? [{ test, centre, corner }] : [];
  });
}

/**
 * The corners over the centre. Within a frame the night cancels, so the ratio's own interval is far narrower than the two
 * widths' together; these stand in where no ratio was made.
 */
function readExcess({ test, centre, corner }: Row): { percent: number; lo: number; hi: number } {
  const ratio = test.contrasts?.overCentre.corner;
  const { value, lo, hi } = isKnown(ratio)
    ? ratio
    : { value: corner.value / centre.value, lo: corner.lo / centre.hi, hi: corner.hi / centre.lo };
  return { percent: Math.round(100 * (value - 1)), lo, hi };
}

function tellHistory(rows: readonly Row[]): string {
  const first = readExcess(rows[0]);
  const last = readExcess(rows[rows.length - 1]);
  if (last.hi < first.lo)
    return `The corners’ excess over the centre fell from ${first.percent} to ${last.percent}\u00a0%`;
  if (last.lo > first.hi)
    return `The corners’ excess over the centre rose from ${first.percent} to ${last.percent}\u00a0%`;
  return "Corners against centre: no change beyond the intervals from first to last test";
}

function writeTable(rows: readonly Row[]): DataTable {
  const round = (value: number) => Number(value.toFixed(3));
  return {
    columns: [
      { key: "test", heading: "Test" },
      { key: "date", heading: "Date" },
      { key: "spacing_error_mm", heading: "Spacing error, mm" },
      { key: "centre_fwhm_um", heading: "Centre, µm" },
      { key: "corner_fwhm_um", heading: "Corners, µm" },
      { key: "corner_fwhm_lo_um", heading: "95 % from" },
      { key: "corner_fwhm_hi_um", heading: "to" },
      { key: "corner_over_centre", heading: "Corners over centre" },
    ],
    rows: rows.map(({ test, centre, corner }) => [
      test.id,
      test.date,
      isKnown(test.spacingError) ? round(test.spacingError.value) : null,
      round(centre.value),
      round(corner.value),
      round(corner.lo),
      round(corner.hi),
      round(corner.value / centre.value),
    ]),
  };
}

const series: { key: "centre" | "corner"; slot: Slot; label: string }[] = [
  { key: "corner", slot: "series-1", label: "all corners" },
  { key: "centre", slot: "series-3", label: "centre" },
];

function makeChart(rows: readonly Row[]): ChartSettings {
  return {
    kind: "line",
    xTitle: "Test",
    xLabels: rows.map(({ test }) => nameShortly(test)),
    units: Object.fromEntries(
      widthUnits.map((unit) => {
        const scaled = (value: number, test: TestResults) =>
          Number((value * listUnitFactors(test.scale)[unit]).toPrecision(4));
        const entries = series.map(({ key, slot, label }) => ({
          label,
          slot,
          line: true,
          points: rows.map((row, k): [number, number] => [k, scaled(row[key].value, row.test)]),
          intervals: rows.map((row): [number, number] => [
            scaled(row[key].lo, row.test),
            scaled(row[key].hi, row.test),
          ]),
        }));
        return [unit, { yTitle: `FWHM, ${unitNames[unit]}`, series: entries }];
      }),
    ),
  };
}

/** Date in short, or the folder's name where that is another. */
const nameShortly = (test: TestResults) => (test.id === test.date ? formatShortDate(test.date) : test.id);

/** Names under the axis: all where they fit, else as many as do, the last always among them. */
function drawTestNames(rows: readonly Row[], placeX: (k: number) => number): string {
  const apart = rows.length > 1 ? placeX(1) - placeX(0) : area.right - area.left;
  const every = Math.max(1, Math.ceil(92 / apart));
  return rows
    .map(({ test }, k) => {
      const x = placeX(k);
      const tick = drawLine(x, area.bottom, x, area.bottom + 4, {
        stroke: colours.rule,
        "stroke-width": 0.8,
      });
      if ((rows.length - 1 - k) % every !== 0) return tick;
      const middle = { "text-anchor": "middle" };
      const error = isKnown(test.spacingError)
        ? `${test.spacingError.value >= 0 ? "+" : ""}${formatSigned(test.spacingError.value, 2)} mm`
        : "";
      return (
        tick +
        drawText(x, area.bottom + 18, fitText(nameShortly(test), Math.max(88, apart * every - 6)), {
          class: "num",
          ...middle,
        }) +
        (error === "" ? "" : drawText(x, area.bottom + 36, error, { class: "num soft", ...middle }))
      );
    })
    .join("");
}

/** Width in centre and corners from test to test, with the spacing error of each; null with fewer than two tests. */
export function drawHistory(results: TrainResults): Figure | null {
  const rows = listRows(results);
  if (rows.length < 2) return null;
  const [low, high] = chooseRange(
    rows.flatMap(({ centre, corner }) => [centre.lo, centre.hi, corner.lo, corner.hi]),
  );
  const y = makeScale(low, high, area.bottom, area.top);
  const placeX = makeScale(0, rows.length - 1, area.left + 40, area.right - 20).place;
  const lines = series.map(({ key, slot, label }) => {
    const points = rows.map((row, k) => [placeX(k), y.place(row[key].value)] as const);
    const stroke = { stroke: pickColour(slot), fill: "none" };
    const bars = rows.map((row, k) =>
      drawLine(placeX(k), y.place(row[key].lo), placeX(k), y.place(row[key].hi), {
        ...stroke,
        "stroke-width": 1.6,
      }),
    );
    return (
      drawElement("path", {
        d: tracePath(points),
        ...stroke,
        "stroke-width": 1.2,
        "stroke-dasharray": dashes[slot] || undefined,
      }) +
      bars.join("") +
      points.map(([px, py]) => drawMark(slot, px, py)).join("") +
      drawText(area.right + 2, endLabelY(rows, key, y.place), label)
    );
  });
  const title = tellHistory(rows);
  const withSpacing = rows.some(({ test }) => isKnown(test.spacingError));
  const subtitle = `Median full width at half maximum in the centre and in all corners, ${rows.length} tests in order of date, 95\u00a0% intervals; the night’s seeing is in both.${withSpacing ? " Below each test: its spacing error." : ""}`;
  const alternative = `Star width in centre and corners of ${nameTrain(results)} over ${rows.length} tests. ${title}.`;
  const foot = drawLine(area.left, area.bottom, area.right, area.bottom, {
    stroke: colours.rule,
    "stroke-width": 0.8,
  });
  return {
    id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      area.bottom + 48,
      ...lines,
      foot,
      drawTestNames(rows, placeX),
      drawWidthAxis(area, y, listUnitFactors(rows[rows.length - 1].test.scale), "FWHM"),
    ),
    data: writeTable(rows),
    chart: makeChart(rows),
  };
}

/** Height of a line's name at its end, kept clear of the other's. */
function endLabelY(rows: readonly Row[], key: "centre" | "corner", place: (value: number) => number): number {
  const last = rows[rows.length - 1];
  const own = place(last[key].value);
  const other = place(last[key === "centre" ? "corner" : "centre"].value);
  const gap = 16;
  if (Math.abs(own - other) >= gap) return own + 4;
  const upper = own < other || (own === other && key === "corner");
  return (own + other) / 2 + (upper ? -gap / 2 : gap / 2) + 4;
}
