import type { TestResults, TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, type PlotArea } from "./axes.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { dashes, drawMark, drawMarks, pickColour, type Slot } from "./marks.ts";
import { chooseRange, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawText, tracePath } from "./svg.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

type Night = NonNullable<TestResults["night"]>;

interface Line {
  label: string;
  slot: Slot;
  points: [minutes: number, value: number][];
}

interface Panel {
  title: string;
  /** Short enough for the side of a live chart on a phone. */
  chartTitle: string;
  lines: Line[];
}

const left = 46;
const right = figureWidth - 16;
const panelHeight = 120;
const panelGap = 62;
const firstTop = 50;

function listPanels(night: Night): Panel[] {
  const points = <Span extends { timeS: number }>(
    spans: readonly Span[],
    read: (span: Span) => number,
  ): [number, number][] => spans.map((span) => [span.timeS / 60, read(span)]);
  const guiding: Panel = {
    title: "Guiding error, RMS of one exposure, arcsec",
    chartTitle: "Guiding error, arcsec",
    lines: [
      {
        label: "right ascension",
        slot: "series-1",
        points: points(night.guidingSpans, ({ raArcsec }) => raArcsec),
      },
      {
        label: "declination",
        slot: "series-3",
        points: points(night.guidingSpans, ({ decArcsec }) => decArcsec),
      },
    ],
  };
  const wind: Panel = {
    title: "Wind, mean of one exposure, m/s",
    chartTitle: "Wind, m/s",
    lines: [{ label: "wind", slot: "series-2", points: points(night.windSpans, ({ speed }) => speed) }],
  };
  return [guiding, wind].filter(({ lines }) => lines[0].points.length > 1);
}

function tellNight({ windLink, guidingSpans, windSpans }: Night): string {
  if (guidingSpans.length < 2) return "The wind, exposure by exposure";
  if (isKnown(windLink)) {
    return windLink.lo > 0
      ? "The guiding error grew with the wind"
      : "The guiding error did not measurably follow the wind";
  }
  const errors = guidingSpans.map(({ raArcsec, decArcsec }) => Math.hypot(raArcsec, decArcsec));
  const ratio = Math.max(...errors) / Math.min(...errors);
  const told = windSpans.length > 1 ? " and wind" : "";
  return ratio > 2
    ? `Guiding${told}: the worst exposure wandered ${ratio.toFixed(1)} times as far as the best`
    : `Guiding${told} were much alike from exposure to exposure`.replace("Guiding were", "Guiding was");
}

function writeTable(panels: readonly Panel[]): DataTable {
  return {
    columns: [
      { key: "what", heading: "What" },
      { key: "time_min", heading: "Time since the log began, min" },
      { key: "value", heading: "arcsec; m/s for the wind" },
    ],
    rows: panels.flatMap(({ lines }) =>
      lines.flatMap(({ label, points }) =>
        points.map(([time, value]) => [label, Number(time.toFixed(2)), Number(value.toFixed(4))]),
      ),
    ),
  };
}

function makeChart(panels: readonly Panel[]): ChartSettings {
  return {
    kind: "line",
    xTitle: "Time since the log began, min",
    units: {
      only: {
        // Arcseconds and metres a second have an axis each.
        yTitle: panels[0].chartTitle,
        ...(panels.length > 1 && { yTitleRight: panels[1].chartTitle }),
        series: panels.flatMap(({ lines }, k) =>
          lines.map(({ label, slot, points }) => ({
            label,
            slot,
            line: true,
            ...(k > 0 && { axis: "right" as const }),
            points: points.map(([time, value]): [number, number] => [
              Number(time.toFixed(2)),
              Number(value.toPrecision(4)),
            ]),
          })),
        ),
      },
    },
  };
}

function drawPanel({ title, lines }: Panel, area: PlotArea, x: Scale): string {
  const [, high] = chooseRange([0, ...lines.flatMap(({ points }) => points.map(([, value]) => value))], 4);
  const y = makeScale(0, high, area.bottom, area.top);
  const drawn = lines.map(({ slot, points }) => {
    const placed = points.map(([time, value]) => [x.place(time), y.place(value)] as const);
    return (
      drawElement("path", {
        d: tracePath(placed),
        fill: "none",
        stroke: pickColour(slot),
        "stroke-width": 1.2,
        "stroke-dasharray": dashes[slot] || undefined,
      }) + drawMarks(slot, placed, 2.6)
    );
  });
  return drawSideAxis(area, y, title, 4) + drawn.join("");
}

/** Guiding error and wind of a night, exposure by exposure; null where fewer than two exposures are told. */
export function drawNight(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const { night } = test;
  const panels = night === null ? [] : listPanels(night);
  if (night === null || panels.length === 0) return null;
  const times = panels.flatMap(({ lines }) => lines.flatMap(({ points }) => points.map(([time]) => time)));
  const [from, to] = chooseRange([0, ...times]);
  const x = makeScale(from, to, left, right);
  const areas = panels.map((_, k): PlotArea => {
    const top = firstTop + k * (panelHeight + panelGap);
    return { left, right, top, bottom: top + panelHeight };
  });
  const legend = panels
    .flatMap(({ lines }) => lines)
    .map(({ slot, label }, k) => drawMark(slot, 16 + 160 * k, 14) + drawText(28 + 160 * k, 18, label));
  const last = areas[areas.length - 1];
  const id = makeFigureId("fig-night", test.id, testIndex);
  const title = tellNight(night);
  const subtitle = `By the logs of ${nameTest(test)}, in spans of ${night.exposureS} s${night.isExposureKnown ? ", as long as one exposure" : ""}.`;
  const alternative = `Guiding error and wind of ${nameTrain(results)} against time, ${times.length} marks. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      last.bottom + 44,
      ...legend,
      ...panels.map((panel, k) => drawPanel(panel, areas[k], x)),
      ...areas.map((area, k) =>
        drawFootAxis(area, x, k === areas.length - 1 ? "Time since the log began, min" : ""),
      ),
    ),
    data: writeTable(panels),
    chart: makeChart(panels),
  };
}
