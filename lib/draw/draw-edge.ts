import type { EdgeResults } from "../report/edge-results.ts";
import type { TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, drawZeroLine, type PlotArea } from "./axes.ts";
import { capitalize, nameColour, pickPairSlot } from "./colour-words.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { dashes, drawMark, pickColour } from "./marks.ts";
import { chooseRange, makeScale } from "./scale.ts";
import { drawElement, drawText, tracePath } from "./svg.ts";
import { fitText, spreadLabels } from "./text-width.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

const area: PlotArea = { left: 46, right: figureWidth - 92, top: 34, bottom: 236 };
const height = 280;

/** The fitted fringe at a direction: a larger disc and a shift of it. */
function traceFit(pair: EdgeResults["pairs"][number], angleDeg: number): number | null {
  const { radiusDifference: grow, shift } = pair;
  if (!isKnown(grow) || !isKnown(shift.size)) return null;
  const direction = isKnown(shift.angle) ? shift.angle.value : 0;
  return grow.value + shift.size.value * Math.cos(((angleDeg - direction) * Math.PI) / 180);
}

function writeTable(edge: EdgeResults): DataTable {
  const names = Object.keys(edge.channels);
  return {
    columns: [
      { key: "frame", heading: "Frame" },
      { key: "normal_deg", heading: "Direction of the normal, degrees" },
      { key: "x_mm", heading: "x, mm" },
      { key: "y_mm", heading: "y, mm" },
      ...names.map((name) => ({
        key: `spread_${name}_um`,
        heading: `90 to 10 % in ${nameColour(name)}, µm`,
      })),
      ...names.map((name) => ({ key: `fringe_${name}_um`, heading: `Fringe of ${nameColour(name)}, µm` })),
    ],
    rows: edge.stretches.map((stretch) => [
      stretch.frame + 1,
      stretch.angleDeg,
      stretch.xMm,
      stretch.yMm,
      ...names.map((name) => stretch.spreadUm[name] ?? null),
      ...names.map((name) => stretch.fringeUm[name] ?? null),
    ]),
  };
}

function makeChart(edge: EdgeResults): ChartSettings {
  return {
    kind: "scatter",
    xTitle: "Direction along the limb, degrees",
    units: {
      only: {
        yTitle: "Fringe, µm",
        series: edge.pairs.map(({ of }, k) => ({
          label: nameColour(of),
          slot: pickPairSlot(k),
          line: false,
          points: edge.stretches.map(({ angleDeg, fringeUm }): [number, number] => [angleDeg, fringeUm[of]]),
        })),
      },
    },
  };
}

/**
 * Fringe of each colour along the Moon's limb, outwards positive, against the direction of the limb's normal, with the fitted
 * shift and growth of the disc. Null where no limb was measured in several colours.
 */
export function drawEdge(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const edge = test.edge ?? null;
  if (edge === null || edge.stretches.length === 0 || edge.pairs.length === 0) return null;
  const fits = edge.pairs.map((pair) =>
    Array.from({ length: 73 }, (_, k) => ({ angleDeg: 5 * k, um: traceFit(pair, 5 * k) })).flatMap(
      ({ angleDeg, um }) => (um === null ? [] : [{ angleDeg, um }]),
    ),
  );
  const [low, high] = chooseRange([
    0,
    ...edge.pairs.flatMap(({ of }) => edge.stretches.map(({ fringeUm }) => fringeUm[of])),
    ...fits.flatMap((points) => points.map(({ um }) => um)),
  ]);
  const x = makeScale(0, 360, area.left, area.right);
  const y = makeScale(low, high, area.bottom, area.top);
  const drawn = edge.pairs.map(({ of }, k) => {
    const slot = pickPairSlot(k);
    const path = fits[k].map(({ angleDeg, um }) => [x.place(angleDeg), y.place(um)] as const);
    const marks = edge.stretches.flatMap(({ angleDeg, fringeUm }) =>
      Number.isFinite(fringeUm[of]) ? [drawMark(slot, x.place(angleDeg), y.place(fringeUm[of]))] : [],
    );
    const line =
      path.length === 0
        ? ""
        : drawElement("path", {
            d: tracePath(path),
            fill: "none",
            stroke: pickColour(slot),
            "stroke-width": 1.5,
            "stroke-dasharray": dashes[slot] || undefined,
          });
    return line + marks.join("");
  });
  const ends = edge.pairs.map(({ of }, k) => {
    const last = fits[k].at(-1)?.um ?? edge.stretches.at(-1)?.fringeUm[of] ?? 0;
    return y.place(last);
  });
  const labelY = spreadLabels(ends, 16, area.top, area.bottom);
  const labels = edge.pairs.map(({ of }, k) =>
    drawText(area.right + 8, labelY[k] + 4, fitText(nameColour(of), figureWidth - area.right - 12)),
  );
  const widest = edge.pairs.flatMap(({ of, against, largestFringe }) =>
    isKnown(largestFringe) ? [{ of, against, largestFringe }] : [],
  );
  const most = widest.sort((a, b) => b.largestFringe.value - a.largestFringe.value)[0];
  const title =
    most === undefined
      ? "Colour fringes along the Moon’s limb"
      : `${capitalize(nameColour(most.of))} and ${nameColour(most.against)} lie apart by at most ${most.largestFringe.value.toFixed(2)}\u00a0µm along the Moon’s limb`;
  const id = makeFigureId("fig-edge", test.id, testIndex);
  const arc = isKnown(edge.arc) ? `${edge.arc.value.toFixed(0)} degrees of bright limb, ` : "";
  const subtitle = `Place of the limb in each colour less that in the reference, outwards positive, ${nameTest(test)}; ${arc}${edge.stretches.length} stretches, counted counter-clockwise. Lines: a shift of the disc and a larger disc, fitted.`;
  const alternative = `Colour fringes along the Moon’s limb by direction, ${nameTrain(results)}. ${title}.`;
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
      ...drawn,
      ...labels,
      drawSideAxis(area, y, "Fringe, µm"),
      drawFootAxis(area, x, "Direction on the limb, degrees from the right", 5),
    ),
    data: writeTable(edge),
    chart: makeChart(edge),
  };
}
