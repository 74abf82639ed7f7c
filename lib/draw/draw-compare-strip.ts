import type { Quantity } from "../maths/quantity.ts";
import type { Comparison, Zone } from "../report/results.ts";
import { drawFootAxis, type PlotArea } from "./axes.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { drawMark, pickColour, type Slot } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, makeScale } from "./scale.ts";
import { drawLine, drawText } from "./svg.ts";
import { fitText } from "./text-width.ts";
import { isKnown, separateZones, zoneNames } from "./words.ts";

export const sideSlots = { a: "series-1", b: "series-2" } as const satisfies Record<"a" | "b", Slot>;

const id = "fig-compare-strip";

interface Strip {
  key: string;
  heading: string;
  axis: string;
  read: (zone: Comparison["zones"][Zone]) => { a: Quantity; b: Quantity };
}

/** The same zones in each unit that a reader may ask in, and with the night taken out. */
const strips: readonly Strip[] = [
  { key: "px", heading: "Counted in pixels", axis: "FWHM, px", read: ({ a, b }) => ({ a: a.px, b: b.px }) },
  {
    key: "arcsec",
    heading: "On the sky, own night",
    axis: "FWHM, arcsec",
    read: ({ a, b }) => ({ a: a.arcsec, b: b.arcsec }),
  },
  { key: "um", heading: "On the sensor", axis: "FWHM, µm", read: ({ a, b }) => ({ a: a.um, b: b.um }) },
  {
    key: "own_um",
    heading: "Optics alone, on the sensor",
    axis: "own blur, µm",
    read: ({ optics }) => ({ a: optics.a, b: optics.b }),
  },
];

const rowStep = 23;
const nameWidth = 84;
const panelTop = 30;
const panelHeight = panelTop + rowStep * separateZones.length + 46;
const legendHeight = 46;

function placePanel(k: number): PlotArea {
  const width = (figureWidth - nameWidth - 22) / 2;
  const left = nameWidth + (k % 2) * (width + 18);
  const top = legendHeight + Math.floor(k / 2) * panelHeight + panelTop;
  return { left, right: left + width - 4, top, bottom: top + rowStep * separateZones.length };
}

function drawSide(side: "a" | "b", value: Quantity, place: (x: number) => number, y: number): string {
  if (!isKnown(value)) return "";
  const colour = pickColour(sideSlots[side]);
  const bar = drawLine(place(value.lo), y, place(value.hi), y, { stroke: colour, "stroke-width": 1.4 });
  // Only an upper limit is known: the bar ends in a stop and there is no mark that claims a value.
  if (value.lo === 0 && value.hi > 0) {
    const end = place(value.hi);
    return bar + drawLine(end, y - 3.5, end, y + 3.5, { stroke: colour, "stroke-width": 1.6 });
  }
  return bar + drawMark(sideSlots[side], place(value.value), y, 3.2);
}

function drawPanel(strip: Strip, comparison: Comparison, k: number): string {
  const area = placePanel(k);
  const pairs = separateZones.map((zone) => strip.read(comparison.zones[zone]));
  const ends = pairs.flatMap(({ a, b }) => [a, b].flatMap((q) => (isKnown(q) ? [q.lo, q.hi] : [])));
  const head = drawText(area.left, area.top - 12, strip.heading, { class: "strong" });
  const names =
    k % 2 === 0
      ? separateZones
          .map((zone, row) => drawText(4, area.top + (row + 0.5) * rowStep + 4, zoneNames[zone]))
          .join("")
      : "";
  const rules = separateZones
    .map((_, row) => {
      const y = area.top + (row + 1) * rowStep;
      return drawLine(k % 2 === 0 ? 4 : area.left, y, area.right, y, {
        stroke: colours.rule,
        "stroke-width": 0.5,
      });
    })
    .join("");
  if (ends.length === 0) {
    return head + names + rules + drawText(area.left, area.top + 16, "not known", { class: "soft" });
  }
  const [low, high] = chooseRange(ends, 4);
  const scale = makeScale(low, high, area.left + 4, area.right - 4);
  const rows = pairs.map(({ a, b }, row) => {
    const y = area.top + (row + 0.5) * rowStep;
    return drawSide("a", a, scale.place, y - 5) + drawSide("b", b, scale.place, y + 5);
  });
  return head + names + rules + rows.join("") + drawFootAxis(area, scale, strip.axis, 4);
}

function writeTable({ zones: compared }: Comparison): DataTable {
  const columns = strips.flatMap(({ key, axis }) =>
    (["a", "b"] as const).flatMap((side) => [
      { key: `${side}_${key}`, heading: `${side.toUpperCase()}, ${axis}` },
      { key: `${side}_${key}_lo`, heading: "95 % from" },
      { key: `${side}_${key}_hi`, heading: "to" },
    ]),
  );
  return {
    columns: [{ key: "zone", heading: "Zone" }, ...columns],
    rows: separateZones.map((zone) => [
      zoneNames[zone],
      ...strips.flatMap(({ read }) => {
        const { a, b } = read(compared[zone]);
        return [a, b].flatMap((q) =>
          isKnown(q) ? [q.value, q.lo, q.hi].map((v) => Number(v.toPrecision(5))) : [null, null, null],
        );
      }),
    ]),
  };
}

const winners = { aSharper: "A", bSharper: "B" } as const;

/** "one, two and three". */
function joinWords(words: readonly string[]): string {
  return words.length < 2
    ? words.join("")
    : `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
}

function tellStrip({ verdict }: Comparison): string {
  const { px, arcsec, um } = verdict;
  const wins = [px, arcsec, um].map((unit) =>
    unit.class === "aSharper" || unit.class === "bSharper" ? winners[unit.class] : null,
  );
  const names: string[] = [];
  const ways = ["in pixels", "on the sky", "by the optics alone"];
  for (const name of ["A", "B"] as const) {
    const won = ways.filter((_, k) => wins[k] === name);
    if (won.length > 0) names.push(`${name} ${joinWords(won)}`);
  }
  return names.length === 0
    ? "Neither side is measurably sharper in the corners in any unit"
    : `Sharper in the corners: ${names.join("; ")}`;
}

function tellSingle({ nights }: Comparison): string {
  const single = (["a", "b"] as const).filter((side) => nights[side].frames === 1);
  if (single.length === 0) return "";
  const names = single.map((side) => side.toUpperCase()).join(" and ");
  return ` ${names} rest${single.length === 1 ? "s" : ""} on a single frame${single.length === 1 ? "" : " each"}: the bars of ${single.length === 1 ? "its" : "their"} widths leave out how the night changed.`;
}

/** Who is who, a line each; names cut to the room. */
export function drawSideLegend({ sides }: Comparison): string {
  return (["a", "b"] as const)
    .map((side, k) => {
      const y = 16 + 19 * k;
      const words = fitText(`${side.toUpperCase()}: ${sides[side].label}`, figureWidth - 40);
      return drawMark(sideSlots[side], 12, y - 4) + drawText(24, y, words);
    })
    .join("");
}

/** The same zones of both sides in pixels, on the sky, on the sensor and by the optics alone, with 95 % bars. Null without any width. */
export function drawCompareStrip(comparison: Comparison): Figure | null {
  const known = separateZones.some(
    (zone) => isKnown(comparison.zones[zone].a.px) || isKnown(comparison.zones[zone].b.px),
  );
  if (!known) return null;
  const title = tellStrip(comparison);
  const alternative = `Four panels of the same seven zones of A and B: in pixels, on the sky, on the sensor, and the optics' own blur. ${title}.`;
  return {
    id,
    title,
    subtitle: `Median star width by zone of the field, narrower to the left; bars are 95 % intervals. Each panel has its own scale. A bar that starts at zero and ends in a stop is an upper limit.${tellSingle(comparison)}`,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      legendHeight + 2 * panelHeight,
      drawSideLegend(comparison),
      ...strips.map((strip, k) => drawPanel(strip, comparison, k)),
    ),
    data: writeTable(comparison),
    chart: null,
  };
}
