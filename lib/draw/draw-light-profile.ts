import type { TestResults, TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, type PlotArea } from "./axes.ts";
import type { ChartSeries, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { type Light, pickLight, showsLight, tellLight } from "./light-words.ts";
import { dashes, pickColour, slots } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { fitText, spreadLabels } from "./text-width.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

const area: PlotArea = { left: 46, right: figureWidth - 128, top: 34, bottom: 268 };
const height = 332;
/** Rings drawn by themselves: those that take most. */
const mostRings = 3;

type Rings = NonNullable<TestResults["rings"]>;

/** A band of rings thinner than this is no wider than its line, percent (chosen). */
const leastBandPercent = 0.05;

/** The rings worth a line of their own, the one that takes most first; one that takes nothing has no line. */
function pickRings(rings: Rings | null) {
  if (rings === null) return [];
  return rings.list
    .map(({ part, corner }, k) => ({
      part,
      corner: isKnown(corner) ? corner.value : 100,
      alone: rings.profile.alone[k],
    }))
    .filter(({ corner }) => corner < 99.95)
    .sort((a, b) => a.corner - b.corner)
    .slice(0, mostRings);
}

type Point = readonly [number, number];

function place(rMm: readonly number[], values: readonly number[], x: Scale, y: Scale): Point[] {
  return rMm.map((r, k): Point => [x.place(r), y.place(values[k])]);
}

function drawBand(
  rMm: readonly number[],
  low: readonly number[],
  high: readonly number[],
  x: Scale,
  y: Scale,
  colour: string,
) {
  if (rMm.length < 2) return "";
  const path = [...place(rMm, high, x, y), ...place(rMm, low, x, y).reverse()];
  return drawElement("path", { d: tracePath(path, true), fill: colour, "fill-opacity": 0.16 });
}

interface Line {
  label: string;
  path: Point[];
  stroke: string;
  width: number;
  dash: string | undefined;
}

function drawLines(lines: readonly Line[]): string {
  const labelY = spreadLabels(
    lines.map(({ path }) => path[path.length - 1][1]),
    16,
    area.top,
    area.bottom,
  );
  return lines
    .map(({ label, path, stroke, width, dash }, k) => {
      const [lastX, lastY] = path[path.length - 1];
      return (
        drawElement("path", {
          d: tracePath(path),
          fill: "none",
          stroke,
          "stroke-width": width,
          "stroke-dasharray": dash,
        }) +
        drawLine(lastX + 3, lastY, area.right + 8, labelY[k], { stroke, "stroke-width": 0.6 }) +
        drawText(area.right + 11, labelY[k] + 4, fitText(label, figureWidth - area.right - 14))
      );
    })
    .join("");
}

function listLines(light: Light | null, rings: Rings | null, x: Scale, y: Scale): Line[] {
  const lines: Line[] = [];
  if (light !== null) {
    const path = place(light.profile.rMm, light.profile.mean, x, y);
    lines.push({ label: "measured", path, stroke: colours.ink, width: 2, dash: undefined });
  }
  if (rings === null) return lines;
  const { rMm, together } = rings.profile;
  const path = place(rMm, together, x, y);
  lines.push({ label: "all rings", path, stroke: colours.accent, width: 1.6, dash: "7 3" });
  pickRings(rings).forEach(({ part, alone }, k) => {
    const slot = slots[k];
    const stroke = pickColour(slot);
    lines.push({
      label: part,
      path: place(rMm, alone, x, y),
      stroke,
      width: 1,
      dash: dashes[slot] || undefined,
    });
  });
  return lines;
}

function writeTable(light: Light | null, rings: Rings | null): DataTable {
  const round = (value: number | undefined) => (value === undefined ? null : Number(value.toFixed(3)));
  const radii = light?.profile.rMm ?? rings?.profile.rMm ?? [];
  const picked = pickRings(rings);
  return {
    columns: [
      { key: "radius_mm", heading: "Field radius, mm" },
      { key: "measured_percent", heading: "Measured, %" },
      { key: "measured_least_percent", heading: "Least around the circle, %" },
      { key: "measured_most_percent", heading: "Most, %" },
      { key: "rings_percent", heading: "All rings, %" },
      { key: "rings_near_pupil_percent", heading: "All rings, nearest exit pupil, %" },
      ...picked.map(({ part }, k) => ({ key: `ring_${k + 1}_percent`, heading: `${part} alone, %` })),
    ],
    rows: radii.map((rMm, k) => [
      Number(rMm.toFixed(2)),
      round(light?.profile.mean[k]),
      round(light?.profile.least[k]),
      round(light?.profile.most[k]),
      round(rings?.profile.together[k]),
      round(rings?.profile.togetherHi[k]),
      ...picked.map(({ alone }) => round(alone[k])),
    ]),
  };
}

function listSeries(light: Light | null, rings: Rings | null): ChartSeries[] {
  const pair = (rMm: readonly number[], values: readonly number[]) =>
    rMm.map((r, k): [number, number] => [Number(r.toFixed(2)), Number(values[k].toFixed(2))]);
  return [
    ...(light === null
      ? []
      : [
          { label: "measured", slot: "ink", line: true, points: pair(light.profile.rMm, light.profile.mean) },
        ]),
    ...(rings === null
      ? []
      : [
          {
            label: "all rings",
            slot: "series-4",
            line: true,
            points: pair(rings.profile.rMm, rings.profile.together),
          },
          ...pickRings(rings).map(({ part, alone }, k) => ({
            label: part,
            slot: slots[k] as string,
            line: true,
            points: pair(rings.profile.rMm, alone),
          })),
        ]),
  ];
}

/**
 * Light against field radius: what the flats show, with its range around the circle, and what the rings on record leave,
 * all together and each alone. Null where neither flats nor clear diameters are there, or another test shows it.
 */
export function drawLightProfile(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  if (!showsLight(results, testIndex)) return null;
  const light = pickLight(test)?.light ?? null;
  const { rings } = test;
  if (light === null && rings === null) return null;
  const half = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const values = [
    ...(light?.profile.least ?? []),
    ...(rings?.profile.together ?? []),
    ...pickRings(rings).flatMap(({ alone }) => alone),
    100,
  ];
  const [low] = chooseRange([...values, Math.min(...values) < 97 ? 100 : 96]);
  const x = makeScale(0, half, area.left, area.right);
  const y = makeScale(Math.max(0, low), 100 + (100 - low) * 0.02, area.bottom, area.top);
  const id = makeFigureId("fig-light-profile", test.id, testIndex);
  const title = tellLight(test);
  const measured =
    light === null
      ? "No flats: from the records alone"
      : `Mean of ${light.flats} flats, band: least to most around each circle`;
  // Rings that pass all the light wherever the exit pupil lies have no band, and a key to one would send readers looking for it.
  const hasPupilBand =
    rings !== null &&
    rings.exitPupilMm === null &&
    rings.profile.togetherHi.some((most, k) => most - rings.profile.together[k] > leastBandPercent);
  const pupil =
    rings === null
      ? "no clear diameter on record"
      : rings.exitPupilMm === null
        ? `rings: telecentric${hasPupilBand ? ", band to the nearest exit pupil" : ""}`
        : `rings: exit pupil ${rings.exitPupilMm} mm before the sensor`;
  const subtitle = `Light in percent of the brightest against field radius, ${nameTest(test)}. ${measured}; ${pupil}.`;
  const alternative = `Curves of light from the centre to the corner of ${nameTrain(results)}, measured and as the rings on record leave it. ${title}.`;
  const keyY = area.bottom + 54;
  const swatch = (left: number, colour: string, words: string) =>
    drawElement("rect", { x: left, y: keyY - 9, width: 20, height: 11, fill: colour, "fill-opacity": 0.16 }) +
    drawText(left + 26, keyY, words, { class: "soft" });
  const key =
    (light === null ? "" : swatch(area.left, colours.ink, "around the circle")) +
    (hasPupilBand ? swatch(area.left + 172, colours.accent, "exit pupil not on record") : "");
  const markup = [
    light === null
      ? ""
      : drawBand(light.profile.rMm, light.profile.least, light.profile.most, x, y, colours.ink),
    rings === null
      ? ""
      : drawBand(rings.profile.rMm, rings.profile.together, rings.profile.togetherHi, x, y, colours.accent),
    drawLines(listLines(light, rings, x, y)),
    drawSideAxis(area, y, "Light, % of the brightest"),
    drawFootAxis(area, x, "Field radius, mm"),
    key,
  ].join("");
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing({ id, title, alternative }, height, markup),
    data: writeTable(light, rings),
    chart: {
      kind: "line",
      xTitle: "Field radius, mm",
      units: { only: { yTitle: "Light, % of the brightest", series: listSeries(light, rings) } },
    },
  };
}
