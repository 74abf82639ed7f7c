import type { Quantity } from "../maths/quantity.ts";
import type { ComparedRing, Comparison } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, type PlotArea } from "./axes.ts";
import { drawSideLegend, sideSlots } from "./draw-compare-strip.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { dashes, drawMark, pickColour } from "./marks.ts";
import { hasOneScale } from "./one-scale.ts";
import { chooseRange, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, tracePath } from "./svg.ts";
import { isKnown } from "./words.ts";

interface Curve {
  id: string;
  along: "onSensor" | "onSky";
  /** Of the numbers, for titles and axes. */
  measure: string;
  /** What a side that lies higher is, for titles. */
  higher: string;
  axis: string;
  key: string;
  subtitle: string;
  read: (ring: ComparedRing) => { a: Quantity; b: Quantity };
}

const footAxes = { onSensor: "Field radius, mm", onSky: "Field radius, degrees on the sky" } as const;

const curves: readonly Curve[] = [
  {
    id: "fig-curve-sky",
    along: "onSky",
    measure: "Star width on the sky",
    higher: "has wider stars on the sky",
    axis: "FWHM, arcsec",
    key: "fwhm_arcsec",
    subtitle: "Median FWHM in rings of equal angle from the axis, each side on its own night.",
    read: ({ a, b }) => ({ a: a.arcsec, b: b.arcsec }),
  },
  {
    id: "fig-curve-sensor",
    along: "onSensor",
    measure: "Star width on the sensor",
    higher: "has wider stars on the sensor",
    axis: "FWHM, µm",
    key: "fwhm_um",
    subtitle: "Median FWHM in rings of equal radius on the sensor, each side on its own night.",
    read: ({ a, b }) => ({ a: a.um, b: b.um }),
  },
  {
    id: "fig-curve-centre",
    along: "onSensor",
    measure: "Width over that of the own centre",
    higher: "widens more from its own centre",
    axis: "FWHM over the centre’s",
    key: "over_centre",
    subtitle:
      "Median FWHM in rings over that of the side’s own centre: what a frame’s night adds to all stars cancels.",
    read: ({ overCentre }) => ({ a: overCentre.a, b: overCentre.b }),
  },
  {
    id: "fig-curve-own",
    along: "onSensor",
    measure: "The optics’ own blur",
    higher: "blurs more by the optics alone",
    axis: "Own blur, µm",
    key: "own_um",
    subtitle:
      "Air, guiding and diffraction taken out; width of the Gaussian of the same spread. A bar that reaches down to zero is an upper limit.",
    read: ({ optics }) => ({ a: optics.a, b: optics.b }),
  },
];

const height = 330;
const area: PlotArea = { left: 50, right: figureWidth - 16, top: 76, bottom: 286 };

function drawLineOf(side: "a" | "b", points: [number, Quantity][], x: Scale, y: Scale): string {
  const colour = pickColour(sideSlots[side]);
  const shift = side === "a" ? -2.5 : 2.5;
  const known = points.flatMap(([at, value]) => (isKnown(value) ? [{ px: x.place(at) + shift, value }] : []));
  const line = drawElement("path", {
    d: tracePath(known.map(({ px, value }) => [px, y.place(value.value)] as const)) || "M0 0",
    fill: "none",
    stroke: colour,
    "stroke-width": 1.4,
    "stroke-dasharray": dashes[sideSlots[side]] || undefined,
  });
  const marks = known.map(({ px, value }) => {
    const bar = drawLine(px, y.place(value.lo), px, y.place(value.hi), { stroke: colour, "stroke-width": 1 });
    return bar + drawMark(sideSlots[side], px, y.place(value.value), 3);
  });
  return line + marks.join("");
}

/** Where both ends of the field are known: how each side's last ring stands to the other's. */
function tellCurve(curve: Curve, rings: readonly ComparedRing[]): string {
  const last = [...rings].reverse().find((ring) => {
    const { a, b } = curve.read(ring);
    return isKnown(a) && isKnown(b);
  });
  if (last === undefined) return `${curve.measure} against field radius`;
  const { a, b } = curve.read(last);
  if (!isKnown(a) || !isKnown(b)) return `${curve.measure} against field radius`;
  const at = `${last.at.value.toFixed(last.at.unit === "mm" ? 1 : 2)} ${last.at.unit === "mm" ? "mm" : "degrees"}`;
  if (a.lo > b.hi) return `In the outermost ring, at ${at}, A ${curve.higher}`;
  if (b.lo > a.hi) return `In the outermost ring, at ${at}, B ${curve.higher}`;
  return `${curve.measure}: A and B are not told apart in the outermost ring`;
}

function writeTable(curve: Curve, rings: readonly ComparedRing[]): DataTable {
  const round = (value: number) => Number(value.toPrecision(5));
  const unit = curve.along === "onSensor" ? "mm" : "deg";
  return {
    columns: [
      { key: `radius_${unit}`, heading: footAxes[curve.along] },
      ...(["a", "b"] as const).flatMap((side) => [
        { key: `${side}_${curve.key}`, heading: `${side.toUpperCase()}: ${curve.axis}` },
        { key: `${side}_${curve.key}_lo`, heading: "95 % from" },
        { key: `${side}_${curve.key}_hi`, heading: "to" },
        { key: `${side}_stars`, heading: "Stars" },
      ]),
    ],
    rows: rings.map((ring) => [
      round(ring.at.value),
      ...(["a", "b"] as const).flatMap((side) => {
        const value = curve.read(ring)[side];
        const numbers = isKnown(value) ? [value.value, value.lo, value.hi].map(round) : [null, null, null];
        return [...numbers, ring.stars[side]];
      }),
    ]),
  };
}

function makeChart(
  curve: Curve,
  rings: readonly ComparedRing[],
  labels: Record<"a" | "b", string>,
): ChartSettings {
  const round = (value: number) => Number(value.toPrecision(4));
  return {
    kind: "scatter",
    xTitle: footAxes[curve.along],
    units: {
      only: {
        yTitle: curve.axis,
        series: (["a", "b"] as const).map((side) => {
          const known = rings.flatMap((ring) => {
            const value = curve.read(ring)[side];
            return isKnown(value) ? [{ at: round(ring.at.value), value }] : [];
          });
          return {
            label: labels[side],
            slot: sideSlots[side],
            line: true,
            points: known.map(({ at, value }): [number, number] => [at, round(value.value)]),
            intervals: known.map(({ value }): [number, number] => [round(value.lo), round(value.hi)]),
          };
        }),
      },
    },
  };
}

function drawCurve(comparison: Comparison, curve: Curve): Figure | null {
  const rings = comparison.curves?.[curve.along] ?? [];
  const values = rings.flatMap((ring) => Object.values(curve.read(ring)).filter(isKnown));
  if (values.length === 0) return null;
  const [low, high] = chooseRange(values.flatMap(({ lo, hi }) => [lo, hi]));
  const step = rings[0].at.value * 2;
  const x = makeScale(0, step * rings.length, area.left, area.right);
  const y = makeScale(low, high, area.bottom, area.top);
  const read = (side: "a" | "b") =>
    rings.map((ring): [number, Quantity] => [ring.at.value, curve.read(ring)[side]]);
  const title = tellCurve(curve, rings);
  const alternative = `${curve.measure} of A and B from the centre to the edge of the smaller field, with 95 % bars. ${title}.`;
  return {
    id: curve.id,
    title,
    subtitle: `${curve.subtitle} Bars: 95 %.`,
    alternative,
    svg: frameDrawing(
      { id: curve.id, title, alternative },
      height,
      drawSideLegend(comparison),
      drawLineOf("a", read("a"), x, y),
      drawLineOf("b", read("b"), x, y),
      drawSideAxis(area, y, curve.axis),
      drawFootAxis(area, x, footAxes[curve.along]),
    ),
    data: writeTable(curve, rings),
    chart: makeChart(curve, rings, { a: "A", b: "B" }),
  };
}

/**
 * Both sides against field radius: on the sky, on the sensor, over the own centre, and by the optics alone. Of one scale, the
 * first two are the same picture, and the second is left out.
 */
export function drawCompareCurves(comparison: Comparison): Figure[] {
  const shown = hasOneScale(comparison) ? curves.filter(({ id }) => id !== "fig-curve-sensor") : curves;
  return shown.flatMap((curve) => drawCurve(comparison, curve) ?? []);
}
