import {
  Chart,
  type ChartDataset,
  type ChartOptions,
  Legend,
  LinearScale,
  LineElement,
  PointElement,
  type PointStyle,
  ScatterController,
  Tooltip,
} from "chart.js";
import type { ChartSeries, ChartSettings } from "../../lib/draw/figure.ts";
import { formatReading, makeIntervalBars, setMinus, spanIntervals } from "./chart-intervals.ts";
import { addSeriesSwitch } from "./series-switch.ts";
import type { Unit } from "./unit-switch.ts";

Chart.register(ScatterController, LineElement, PointElement, LinearScale, Legend, Tooltip);

const marks: Record<string, { style: PointStyle; dash: number[]; radius: number }> = {
  "series-1": { style: "circle", dash: [], radius: 4 },
  "series-2": { style: "rect", dash: [7, 3], radius: 4.5 },
  "series-3": { style: "triangle", dash: [2, 2.5], radius: 5 },
  "series-4": { style: "rectRot", dash: [8, 2.5, 2, 2.5], radius: 5 },
  ink: { style: "dash", dash: [], radius: 6 },
  stars: { style: "circle", dash: [], radius: 1.5 },
};

/** A colour variable of the page as it is now, so that the chart follows light and dark. */
function readVariable(element: Element, name: string, fallback: string): string {
  return getComputedStyle(element).getPropertyValue(name).trim() || fallback;
}

const slotFallbacks: Record<string, [string, string]> = {
  ink: ["--ink", "#1b1b1b"],
  stars: ["--rule", "#8a8a84"],
};

function makeDataset(series: ChartSeries, canvas: Element): ChartDataset<"scatter"> {
  const [variable, fallback] = slotFallbacks[series.slot] ?? [`--${series.slot}`, "#1b1b1b"];
  const colour = readVariable(canvas, variable, fallback);
  const mark = marks[series.slot] ?? marks["ink"];
  return {
    label: series.label,
    yAxisID: series.axis ?? "y",
    data: series.points.map(([x, y]) => ({ x, y })),
    showLine: series.line,
    borderColor: colour,
    // Series that begin switched off share a mark with one that does not: hollow tells them apart.
    backgroundColor: series.off === true ? readVariable(canvas, "--paper", "#ffffff") : colour,
    borderWidth: 1.5,
    borderDash: mark.dash,
    pointStyle: mark.style,
    pointRadius: mark.radius,
    pointBorderWidth: series.slot === "ink" ? 2 : series.off === true ? 1.6 : 1,
    pointHoverRadius: mark.radius + 2,
    pointHitRadius: 8,
  };
}

/** Name and unit of an axis title such as "Field radius, mm"; a title without a comma has no unit. */
function splitTitle(title: string): { name: string; unit: string } {
  const comma = title.lastIndexOf(", ");
  return comma < 0
    ? { name: title, unit: "" }
    : { name: title.slice(0, comma), unit: title.slice(comma + 2) };
}

/** Series in the unit asked for, or in the only one there is, to four digits. */
function chooseUnit(
  settings: ChartSettings,
  unit: Unit,
): { yTitle: string; yTitleRight?: string; series: ChartSeries[] } {
  const chosen = settings.units[unit] ?? settings.units["only"] ?? Object.values(settings.units)[0];
  if (!("of" in chosen)) return chosen;
  const { yTitle, of, factor } = chosen;
  const source = settings.units[of];
  const change = (value: number) => Number((value * factor).toPrecision(4));
  const series = "of" in source ? [] : source.series;
  return {
    yTitle,
    series: series.map((one) => ({
      ...one,
      points: one.points.map(([x, y]) => [x, change(y)]),
      ...(one.intervals && { intervals: one.intervals.map(([lo, hi]) => [change(lo), change(hi)]) }),
    })),
  };
}

/**
 * A live chart on the canvas in the unit asked for, or in the only one there is; points are read with the pointer or,
 * with the canvas in focus, with the arrow keys along one series (left, right) and between series (up, down).
 */
export function drawLiveChart(canvas: HTMLCanvasElement, settings: ChartSettings, unit: Unit): Chart {
  const chosen = chooseUnit(settings, unit);
  const ink = readVariable(canvas, "--ink", "#1b1b1b");
  const rule = readVariable(canvas, "--rule", "#8a8a84");
  const paper = readVariable(canvas, "--paper", "#ffffff");
  const font = { family: readVariable(canvas, "--font-figures", "sans-serif"), size: 13 };
  const labels = settings.xLabels;
  const x = splitTitle(settings.xTitle);
  const y = splitTitle(chosen.yTitle);
  const axis = (title: string) => ({
    title: { display: true, text: title, color: ink, font },
    ticks: { color: ink, font, maxTicksLimit: 7, includeBounds: false, format: { useGrouping: false } },
    afterTickToLabelConversion: ({ ticks }: { ticks: { label?: string | string[] }[] }) => {
      for (const tick of ticks) if (typeof tick.label === "string") tick.label = setMinus(tick.label);
    },
    grid: { display: false },
    border: { color: rule },
  });
  const foot = axis(settings.xTitle);
  const right = splitTitle(chosen.yTitleRight ?? "");
  const span = spanIntervals(chosen.series.filter(({ off }) => off !== true));
  let switches: ReturnType<typeof addSeriesSwitch> | null = null;
  const options: ChartOptions<"scatter"> = {
    animation: false,
    aspectRatio: 1.4,
    scales: {
      x:
        labels === undefined
          ? { type: "linear", ...foot }
          : {
              type: "linear",
              ...foot,
              min: -0.5,
              max: labels.length - 0.5,
              afterBuildTicks: (scale) => {
                scale.ticks = labels.map((_, value) => ({ value }));
              },
              ticks: {
                ...foot.ticks,
                maxTicksLimit: labels.length,
                callback: (value) => labels[Number(value)] ?? "",
              },
            },
      y: {
        type: "linear",
        ...axis(chosen.yTitle),
        ...(span !== null &&
          (span.isWhole ? { suggestedMin: span.lo, suggestedMax: span.hi } : { min: span.lo, max: span.hi })),
        // Two axes beside each other mislead unless both begin at zero.
        ...(chosen.yTitleRight !== undefined && { min: 0 }),
      },
      ...(chosen.yTitleRight !== undefined && {
        right: { type: "linear" as const, position: "right" as const, min: 0, ...axis(chosen.yTitleRight) },
      }),
    },
    plugins: {
      legend: {
        position: "bottom",
        labels: { usePointStyle: true, boxHeight: 7, color: ink, font },
        onClick: (_event, { datasetIndex }) => {
          if (datasetIndex !== undefined) switches?.toggle(datasetIndex);
        },
      },
      tooltip: {
        backgroundColor: paper,
        titleColor: ink,
        bodyColor: ink,
        borderColor: rule,
        borderWidth: 1,
        titleFont: font,
        bodyFont: font,
        callbacks: {
          title: ([item]) => {
            if (item === undefined) return "";
            const at = chosen.series[item.datasetIndex].points[item.dataIndex][0];
            return labels === undefined
              ? `${x.name} ${setMinus(String(at))} ${x.unit}`
              : (labels[Math.round(at)] ?? "");
          },
          label: ({ datasetIndex, dataIndex }) => {
            const series = chosen.series[datasetIndex];
            return `${series.label}: ${formatReading(series, dataIndex, series.axis === "right" ? right.unit : y.unit)}`;
          },
        },
      },
    },
  };
  const chart = new Chart(canvas, {
    type: "scatter",
    data: { datasets: chosen.series.map((series) => makeDataset(series, canvas)) },
    options,
    plugins: [makeIntervalBars(chosen.series)],
  });
  if (canvas.parentElement !== null) switches = addSeriesSwitch(canvas.parentElement, chart, chosen.series);
  addKeyboardReading(canvas, chart, chosen.series);
  return chart;
}

function addKeyboardReading(canvas: HTMLCanvasElement, chart: Chart, series: readonly ChartSeries[]): void {
  let at = { datasetIndex: 0, index: -1 };
  const steps: Record<string, [number, number]> = {
    ArrowRight: [0, 1],
    ArrowLeft: [0, -1],
    ArrowDown: [1, 0],
    ArrowUp: [-1, 0],
  };
  canvas.addEventListener("keydown", (event) => {
    const step = steps[event.key];
    if (step === undefined || series.length === 0) return;
    event.preventDefault();
    // Series that are switched off are passed over.
    let datasetIndex = at.datasetIndex;
    for (let tried = 0; tried < series.length; tried++) {
      datasetIndex = (datasetIndex + (tried === 0 ? step[0] : step[0] || 1) + series.length) % series.length;
      if (chart.isDatasetVisible(datasetIndex)) break;
    }
    const count = series[datasetIndex].points.length;
    if (count === 0) return;
    at = { datasetIndex, index: Math.max(0, Math.min(count - 1, at.index + step[1])) };
    const element = chart.getDatasetMeta(datasetIndex).data[at.index];
    if (element === undefined) return;
    chart.setActiveElements([at]);
    chart.tooltip?.setActiveElements([at], { x: element.x, y: element.y });
    chart.update("none");
  });
}
