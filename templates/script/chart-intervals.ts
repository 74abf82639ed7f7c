import type { Chart, Plugin } from "chart.js";
import type { ChartSeries } from "../../lib/draw/figure.ts";

/** Decimals that an interval bears, as the page's tables have them: two figures of half its width from 1 to 2.95, else one. */
function chooseDecimals([lo, hi]: [number, number]): number | null {
  const half = (hi - lo) / 2;
  if (!(half > 0)) return null;
  const exponent = Math.floor(Math.log10(half));
  return Math.max(0, Math.min(6, (half / 10 ** exponent < 2.95 ? 1 : 0) - exponent));
}

/** "9.8 µm (95 %: 9.6 to 10.0)" of the point read; a value without an interval as it is. */
export function formatReading(series: ChartSeries, index: number, unit: string): string {
  const value = series.points[index][1];
  const interval = series.intervals?.[index];
  const decimals = interval === undefined ? null : chooseDecimals(interval);
  const write = (number: number) =>
    setMinus(decimals === null ? String(Number(number.toPrecision(4))) : number.toFixed(decimals));
  const read = `${write(value)} ${unit}`.trim();
  return interval === undefined ? read : `${read} (95 %: ${write(interval[0])} to ${write(interval[1])})`;
}

/** A true minus sign in place of the hyphen that numbers come with. */
export function setMinus(text: string): string {
  return text.replace(/(^|[\s(])-(?=\d)/g, "$1−");
}

/** The value below which a share of the sorted values lies. */
const quantile = (sorted: readonly number[], share: number) =>
  sorted[Math.min(sorted.length - 1, Math.max(0, Math.round(share * (sorted.length - 1))))];

/** Single stars that the axis leaves out on either side, so that a stray one does not flatten all medians (chosen). */
const strayShare = 0.005;

/**
 * What the axis must hold so that no interval is cut; null where there is none. `isWhole`: no mark lies outside. Of single
 * stars all but the strays count.
 */
export function spanIntervals(
  series: readonly ChartSeries[],
): { lo: number; hi: number; isWhole: boolean } | null {
  const ends = series.flatMap(({ intervals }) => intervals?.flat() ?? []).filter(Number.isFinite);
  const stars = series
    .filter(({ slot }) => slot === "stars")
    .flatMap(({ points }) => points.map(([, y]) => y))
    .sort((a, b) => a - b);
  if (ends.length === 0 && stars.length === 0) return null;
  const others = series
    .filter(({ slot }) => slot !== "stars")
    .flatMap(({ points }) => points.map(([, y]) => y));
  const held = stars.length === 0 ? [] : [quantile(stars, strayShare), quantile(stars, 1 - strayShare)];
  const all = [...ends, ...others, ...held];
  return { lo: Math.min(...all), hi: Math.max(...all), isWhole: stars.length === 0 };
}

/** Draws each shown point's interval as an upright bar, as the picture does: points alone would look surer than they are. */
export function makeIntervalBars(series: readonly ChartSeries[]): Plugin<"scatter"> {
  return {
    id: "intervalBars",
    beforeDatasetsDraw(chart: Chart) {
      const { ctx } = chart;
      series.forEach(({ intervals }, index) => {
        if (intervals === undefined || !chart.isDatasetVisible(index)) return;
        const { data, yScale } = chart.getDatasetMeta(index);
        const colour = chart.data.datasets[index].borderColor;
        if (yScale === undefined || typeof colour !== "string") return;
        ctx.save();
        ctx.strokeStyle = colour;
        ctx.lineWidth = 1.2;
        ctx.beginPath();
        intervals.forEach(([lo, hi], at) => {
          const x = data[at]?.x;
          if (x === undefined) return;
          ctx.moveTo(x, yScale.getPixelForValue(lo));
          ctx.lineTo(x, yScale.getPixelForValue(hi));
        });
        ctx.stroke();
        ctx.restore();
      });
    },
  };
}
