import type { KnownQuantity } from "../maths/quantity.ts";
import type { LedgerLine, TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, drawZeroLine, type PlotArea } from "./axes.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { drawMark, pickColour, type Slot } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, formatSigned, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { isKnown, nameTrain } from "./words.ts";

type Ledger = NonNullable<TrainResults["ledger"]>;
type Row = Ledger["rows"][number];

const id = "fig-ledger";
const panelHeight = 150;
const gap = 46;

/** Classes of seeing, arcsec: below the first limit, between, above; each with a mark of its own. */
const seeingLimits = [2.2, 3] as const;
const seeingSlots: readonly Slot[] = ["series-1", "series-2", "series-3"];
const seeingWords = ["seeing below 2.2″", "2.2 to 3.0″", "above 3.0″"];

function classSeeing(row: Row): number {
  if (!isKnown(row.seeing)) return 1;
  const { value } = row.seeing;
  return value < seeingLimits[0] ? 0 : value < seeingLimits[1] ? 1 : 2;
}

interface Panel {
  key: "curvature" | "radial";
  title: string;
  /** Unit factor and table digits. */
  digits: number;
}

const panels: readonly Panel[] = [
  { key: "curvature", title: "Curvature c, µm/mm²", digits: 4 },
  { key: "radial", title: "Radial elongation in the corners: along (+), across (−)", digits: 4 },
];

const formatMm = (value: number) => `${value > 0 ? "+" : ""}${formatSigned(value, 2)}`;

function tellLedger(ledger: Ledger): string {
  const { best, stage, bracketMm } = ledger;
  if (isKnown(best)) {
    return `Corners are best at ${formatMm(best.value)} (${formatMm(best.lo)} to ${formatMm(best.hi)})\u00a0mm`;
  }
  if (stage === "bracket" && bracketMm) {
    return `The best spacing lies between ${formatMm(bracketMm[0])} and ${formatMm(bracketMm[1])}\u00a0mm`;
  }
  return "The nights so far do not settle the best spacing";
}

function writeTable(ledger: Ledger): DataTable {
  const round = (value: number, digits: number) => Number(value.toFixed(digits));
  return {
    columns: [
      { key: "test", heading: "Test" },
      { key: "spacing_error_mm", heading: "Spacing error, mm" },
      { key: "curvature_um_mm2", heading: "Curvature, µm/mm²" },
      { key: "curvature_lo", heading: "95 % from" },
      { key: "curvature_hi", heading: "to" },
      { key: "radial", heading: "Radial elongation" },
      { key: "radial_lo", heading: "95 % from" },
      { key: "radial_hi", heading: "to" },
      { key: "seeing_arcsec", heading: "Seeing, arcsec" },
    ],
    rows: ledger.rows.map((row) => [
      row.test,
      isKnown(row.spacingError) ? round(row.spacingError.value, 3) : null,
      ...panels.flatMap(({ key, digits }) => {
        const value = row[key];
        return isKnown(value)
          ? [value.value, value.lo, value.hi].map((v) => round(v, digits))
          : [null, null, null];
      }),
      isKnown(row.seeing) ? round(row.seeing.value, 2) : null,
    ]),
  };
}

interface Placed {
  row: Row;
  s: number;
  value: KnownQuantity;
}

function placeRows(ledger: Ledger, key: Panel["key"]): Placed[] {
  return ledger.rows.flatMap((row) => {
    const value = row[key];
    return isKnown(row.spacingError) && isKnown(value) ? [{ row, s: row.spacingError.value, value }] : [];
  });
}

function readLine(line: LedgerLine, s: number): { value: number; reach: number } {
  const variance = line.varianceAt0 + 2 * s * line.covariance + s * s * line.variancePerMm;
  return { value: line.at0 + line.perMm * s, reach: line.reach * Math.sqrt(Math.max(0, variance)) };
}

function drawPanel(ledger: Ledger, panel: Panel, area: PlotArea, x: Scale): string {
  const placed = placeRows(ledger, panel.key);
  const line = ledger.lines?.[panel.key] ?? null;
  const ends = placed.flatMap(({ value }) => [value.lo, value.hi]);
  const [low, high] = chooseRange([...ends, 0]);
  const y = makeScale(low, high, area.bottom, area.top);
  const clamp = (value: number) => Math.min(high, Math.max(low, value));
  let fitted = "";
  if (line !== null && placed.length > 1) {
    const steps = Array.from({ length: 41 }, (_, k) => x.from + ((x.to - x.from) * k) / 40);
    const edge = (side: 1 | -1) =>
      steps.map((s): [number, number] => {
        const { value, reach } = readLine(line, s);
        return [x.place(s), y.place(clamp(value + side * reach))];
      });
    fitted =
      (line.nights > 2
        ? drawElement("path", {
            d: tracePath([...edge(1), ...edge(-1).reverse()], true),
            fill: colours.rule,
            "fill-opacity": 0.25,
          })
        : "") +
      drawElement("path", {
        d: tracePath(
          steps
            .filter((s) => readLine(line, s).value >= low && readLine(line, s).value <= high)
            .map((s) => [x.place(s), y.place(readLine(line, s).value)] as const),
        ),
        fill: "none",
        stroke: colours.ink,
        "stroke-width": 1.2,
      });
  }
  const marks = placed.map(({ row, s, value }) => {
    const slot = seeingSlots[classSeeing(row)];
    return (
      drawLine(x.place(s), y.place(value.lo), x.place(s), y.place(value.hi), {
        stroke: pickColour(slot),
        "stroke-width": 1.6,
      }) + drawMark(slot, x.place(s), y.place(value.value), 4)
    );
  });
  return drawZeroLine(area, y) + fitted + marks.join("") + drawSideAxis(area, y, panel.title, 4);
}

function drawBest(ledger: Ledger, { top, bottom }: PlotArea, x: Scale): string {
  const { best } = ledger;
  if (!isKnown(best)) return "";
  const hold = (value: number) => x.place(Math.min(x.to, Math.max(x.from, value)));
  const line = { stroke: colours.accent, "stroke-width": 1.4 };
  const middle = hold(best.value);
  return (
    drawElement("rect", {
      x: hold(best.lo),
      y: top,
      width: Math.max(1, hold(best.hi) - hold(best.lo)),
      height: bottom - top,
      fill: colours.accent,
      "fill-opacity": 0.16,
    }) +
    drawLine(middle, top, middle, bottom, line) +
    drawText(Math.min(middle + 6, figureWidth - 60), bottom - 6, "best", { fill: colours.accent })
  );
}

function makeChart(ledger: Ledger): ChartSettings {
  return {
    kind: "scatter",
    xTitle: "Spacing error, mm",
    units: {
      only: {
        yTitle: "Curvature, µm/mm²",
        series: seeingSlots.flatMap((slot, k) => {
          const placed = placeRows(ledger, "curvature").filter(({ row }) => classSeeing(row) === k);
          if (placed.length === 0) return [];
          return [
            {
              label: seeingWords[k],
              slot,
              line: false,
              points: placed.map(({ s, value }): [number, number] => [
                Number(s.toFixed(3)),
                Number(value.value.toPrecision(4)),
              ]),
              intervals: placed.map(({ value }): [number, number] => [
                Number(value.lo.toPrecision(4)),
                Number(value.hi.toPrecision(4)),
              ]),
            },
          ];
        }),
      },
    },
  };
}

/**
 * Ledger chart: curvature and radial elongation of each night against its spacing error, the lines through them with
 * their 95 % bands, and the best spacing with its interval. Null with fewer than two nights at different spacings.
 */
export function drawLedger(results: TrainResults): Figure | null {
  const { ledger } = results;
  if (ledger === null) return null;
  const shown = panels.filter(({ key }) => placeRows(ledger, key).length > 1);
  const spacings = shown.flatMap(({ key }) => placeRows(ledger, key).map(({ s }) => s));
  if (shown.length === 0 || Math.max(...spacings) - Math.min(...spacings) < 0.01) return null;
  const more = isKnown(ledger.best) ? [ledger.best.value] : [];
  const [from, to] = chooseRange([...spacings, ...more]);
  const x = makeScale(from, to, 46, figureWidth - 16);
  const tops = shown.map((_, k) => 58 + k * (panelHeight + gap));
  const areas = tops.map(
    (top): PlotArea => ({ left: 46, right: figureWidth - 16, top, bottom: top + panelHeight }),
  );
  const last = areas[areas.length - 1];
  const legend = seeingWords.map((words, k) => {
    const at = 14 + [0, 150, 262][k];
    return drawMark(seeingSlots[k], at, 14, 4) + drawText(at + 11, 18, words);
  });
  const title = tellLedger(ledger);
  const nights = ledger.rows.filter((row) => isKnown(row.spacingError)).length;
  const subtitle = `Each mark a night with its 95\u00a0% interval, ${nights} nights; lines weighted by the intervals, grey: their 95\u00a0% bands. Seeing is taken out of the curvature by the field model; it dilutes the elongation but not its zero.`;
  const alternative = `Curvature and radial elongation of ${nameTrain(results)} against the spacing error over ${nights} nights. ${title}.`;
  return {
    id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      last.bottom + 44,
      ...legend,
      ...areas.map((area) => drawBest(ledger, area, x)),
      ...shown.map((panel, k) => drawPanel(ledger, panel, areas[k], x)),
      drawFootAxis(last, x, "Spacing error, mm (+ the sensor is too far)"),
    ),
    data: writeTable(ledger),
    chart: makeChart(ledger),
  };
}
