import type { ColourPair, ColourResults } from "../report/colour-results.ts";
import type { TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, drawZeroLine, type PlotArea } from "./axes.ts";
import { capitalize, nameColour, pickPairSlot } from "./colour-words.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { dashes, drawMark, pickColour } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { fitText, spreadLabels } from "./text-width.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

const area: PlotArea = { left: 46, right: figureWidth - 92, top: 34, bottom: 268 };
const height = 312;

type DrawnPair = ColourPair & {
  profile: NonNullable<ColourPair["profile"]>;
  curve: NonNullable<ColourPair["curve"]>;
};

function listDrawn(colour: ColourResults): DrawnPair[] {
  return colour.pairs.filter((pair): pair is DrawnPair => pair.profile !== null && pair.curve !== null);
}

function tellLateral(pairs: readonly DrawnPair[]): string {
  const known = pairs.flatMap(({ of, against, lateralAtCorner: lateral, class: verdict }) =>
    isKnown(lateral) ? [{ of, against, lateral, verdict }] : [],
  );
  if (known.length === 0) return "Shift between colours along the radius";
  if (known.every(({ verdict }) => verdict === "none")) return "No lateral colour is told at the corner";
  const most = known.reduce((a, b) => (Math.abs(b.lateral.value) > Math.abs(a.lateral.value) ? b : a));
  const way = most.lateral.value > 0 ? "farther out" : "farther in";
  return `${capitalize(nameColour(most.of))} stands ${Math.abs(most.lateral.value).toFixed(2)}\u00a0µm ${way} than ${nameColour(most.against)} at the corner`;
}

/** Third of a pixel, and half the Airy disc where it fits, as level lines either side of zero. */
function drawYardsticks(colour: ColourResults, y: Scale): string {
  const lines: { um: number; words: string }[] = [];
  const { airy, pixel } = colour.yardsticks;
  if (isKnown(pixel)) lines.push({ um: pixel.value / 3, words: "a third of a pixel" });
  if (isKnown(airy)) lines.push({ um: airy.value / 2, words: "radius of the Airy disc" });
  return lines
    .flatMap(({ um, words }) =>
      [um, -um].map((level) => {
        if (level < y.from || level > y.to) return "";
        const at = y.place(level);
        return (
          drawLine(area.left, at, area.right, at, {
            stroke: colours.accent,
            "stroke-width": 0.9,
            "stroke-dasharray": "1.5 3",
          }) +
          (um === level || -um > y.from
            ? drawText(area.left + 6, at - 4, words, { class: "soft", fill: colours.accent })
            : "")
        );
      }),
    )
    .join("");
}

function drawPair(pair: DrawnPair, index: number, x: Scale, y: Scale): string {
  const slot = pickPairSlot(index);
  const { curve, profile } = pair;
  const upper = curve.rMm.map((r, k) => [x.place(r), y.place(curve.hiUm[k])] as const);
  const lower = curve.rMm.map((r, k) => [x.place(r), y.place(curve.loUm[k])] as const);
  const stroke = { stroke: pickColour(slot), fill: "none" };
  const points = profile.rMm.map((r, k) => {
    const value = profile.radial[k];
    if (!isKnown(value)) return "";
    const at = x.place(r);
    return (
      drawLine(at, y.place(value.lo), at, y.place(value.hi), { ...stroke, "stroke-width": 1 }) +
      drawMark(slot, at, y.place(value.value))
    );
  });
  return (
    drawElement("path", {
      d: tracePath([...upper, ...lower.reverse()], true),
      fill: pickColour(slot),
      "fill-opacity": 0.16,
    }) +
    drawElement("path", {
      d: tracePath(curve.rMm.map((r, k) => [x.place(r), y.place(curve.um[k])] as const)),
      ...stroke,
      "stroke-width": 1.5,
      "stroke-dasharray": dashes[slot] || undefined,
    }) +
    points.join("")
  );
}

function writeTable(pairs: readonly DrawnPair[]): DataTable {
  const round = (value: number) => Number(value.toFixed(4));
  return {
    columns: [
      { key: "of", heading: "Of" },
      { key: "against", heading: "Against" },
      { key: "kind", heading: "Ring or curve" },
      { key: "radius_mm", heading: "Field radius, mm" },
      { key: "shift_um", heading: "Shift along the radius, µm" },
      { key: "shift_lo_um", heading: "95 % from" },
      { key: "shift_hi_um", heading: "to" },
      { key: "stars", heading: "Stars" },
    ],
    rows: pairs.flatMap(({ of, against, profile, curve }) => [
      ...profile.rMm.map((r, k) => {
        const value = profile.radial[k];
        const known = isKnown(value) ? [value.value, value.lo, value.hi].map(round) : [null, null, null];
        return [of, against, "ring", Number(r.toFixed(2)), ...known, profile.stars[k]];
      }),
      ...curve.rMm.map((r, k) => [
        of,
        against,
        "curve",
        Number(r.toFixed(2)),
        round(curve.um[k]),
        round(curve.loUm[k]),
        round(curve.hiUm[k]),
        null,
      ]),
    ]),
  };
}

function makeChart(pairs: readonly DrawnPair[]): ChartSettings {
  const round = (value: number) => Number(value.toPrecision(4));
  return {
    kind: "scatter",
    xTitle: "Field radius, mm",
    units: {
      only: {
        yTitle: "Shift along the radius, µm",
        series: pairs.flatMap(({ of, profile, curve }, k) => {
          const slot = pickPairSlot(k);
          const known = profile.rMm.flatMap((r, ring) => {
            const value = profile.radial[ring];
            return isKnown(value) ? [{ r, value }] : [];
          });
          return [
            {
              label: `${nameColour(of)}, rings`,
              slot,
              line: false,
              points: known.map(({ r, value }): [number, number] => [round(r), round(value.value)]),
              intervals: known.map(({ value }): [number, number] => [round(value.lo), round(value.hi)]),
            },
            {
              label: `${nameColour(of)}, fitted`,
              slot,
              line: true,
              points: curve.rMm.map((r, at): [number, number] => [round(r), round(curve.um[at])]),
            },
          ];
        }),
      },
    },
  };
}

/**
 * Shift of each colour along the radius against field radius: means in rings with 95 % bars, the fitted curve with its
 * band, a third of a pixel and the Airy disc for scale. Null where nothing was fitted; drawn once where tests share it.
 */
export function drawColourRadius(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const { colour } = test;
  if (colour === null || (colour.tests.includes(test.id) && colour.tests[0] !== test.id)) return null;
  const pairs = listDrawn(colour);
  if (pairs.length === 0) return null;
  const third = isKnown(colour.yardsticks.pixel) ? colour.yardsticks.pixel.value / 3 : 0;
  const [low, high] = chooseRange([
    0,
    1.15 * third,
    -1.15 * third,
    ...pairs.flatMap(({ profile, curve }) => [
      ...curve.loUm,
      ...curve.hiUm,
      ...profile.radial.flatMap((value) => (isKnown(value) ? [value.lo, value.hi] : [])),
    ]),
  ]);
  const halfDiagonalMm = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const x = makeScale(0, halfDiagonalMm, area.left, area.right);
  const y = makeScale(low, high, area.bottom, area.top);
  const ends = pairs.map(({ curve }) => y.place(curve.um[curve.um.length - 1]));
  const labelY = spreadLabels(ends, 16, area.top, area.bottom);
  const labels = pairs.map(({ of }, k) =>
    drawText(area.right + 8, labelY[k] + 4, fitText(nameColour(of), figureWidth - area.right - 12)),
  );
  const reference = nameColour(colour.reference);
  const id = makeFigureId("fig-colour-radius", test.id, testIndex);
  const title = tellLateral(pairs);
  const frames = Math.max(...pairs.map((pair) => pair.frames));
  const subtitle = `Shift along the radius against ${fitText(reference, 120)}, outwards positive, ${nameTest(test)}; up to ${Math.max(...pairs.map(({ stars }) => stars))} stars of ${frames} ${frames === 1 ? "frame" : "frames"}, the shift of the whole field taken off. Marks: rings with 95\u00a0% bars; band: 95\u00a0% of the fit.`;
  const alternative = `By how much farther out the stars of ${nameTrain(results)} stand in each colour than in ${reference}, from the centre to the corner. ${title}.`;
  const zero = drawZeroLine(area, y);
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      height,
      zero,
      drawYardsticks(colour, y),
      ...pairs.map((pair, k) => drawPair(pair, k, x, y)),
      ...labels,
      drawSideAxis(area, y, "Shift along the radius, µm"),
      drawFootAxis(area, x, "Field radius, mm"),
    ),
    data: writeTable(pairs),
    chart: makeChart(pairs),
  };
}
