import type { TestResults, TrainResults } from "../report/results.ts";
import { drawForUnit } from "./axes.ts";
import type { Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { drawElement, drawLine, drawText } from "./svg.ts";
import {
  findWorstCorner,
  isKnown,
  listStarTests,
  listUnitFactors,
  nameTest,
  nameTrain,
  unitNames,
  widthUnits,
  zoneNames,
} from "./words.ts";

const id = "fig-sampling";
const left = 8;
const right = figureWidth - 8;

/** One of the shapes laid on the pixel grid, widths in um. */
interface Shape {
  name: string;
  /** Number told below it, um. */
  toldUm: number;
  majorUm: number;
  minorUm: number;
  angleDeg: number;
  colour: string;
  dash: string | undefined;
}

function makeStarShape(
  test: TestResults,
  zone: "centre" | ReturnType<typeof pickCorner>,
  name: string,
  colour: string,
): Shape | null {
  const shape = test.zones?.[zone];
  if (shape === undefined || !isKnown(shape.fwhm.um)) return null;
  const { fwhmMajor, fwhmMinor, fwhm, angle } = shape;
  return {
    name,
    toldUm: fwhm.um.value ?? 0,
    majorUm: isKnown(fwhmMajor.um) ? fwhmMajor.um.value : fwhm.um.value!,
    minorUm: isKnown(fwhmMinor.um) ? fwhmMinor.um.value : fwhm.um.value!,
    angleDeg: isKnown(angle) ? angle.value : 0,
    colour,
    dash: undefined,
  };
}

function pickCorner(test: TestResults) {
  return findWorstCorner(test)?.corner ?? "upperLeft";
}

function listShapes(results: TrainResults, test: TestResults): Shape[] {
  const airy = results.sampling.airyDiameter;
  const disc: Shape[] = isKnown(airy)
    ? [
        {
          name: "Airy disc",
          toldUm: airy.value,
          majorUm: airy.value,
          minorUm: airy.value,
          angleDeg: 0,
          colour: colours.inkSoft,
          dash: "3 2",
        },
      ]
    : [];
  const corner = pickCorner(test);
  const stars = [
    makeStarShape(test, "centre", "centre star", colours.series[0]),
    makeStarShape(test, corner, `${zoneNames[corner]} star`, colours.series[0]),
  ].filter((shape) => shape !== null);
  return stars.length === 0 ? [] : [...disc, ...stars];
}

/**
 * The pixel grid with the Airy disc and the half-maximum contours of a star of the centre and of the widest corner on
 * it, all to one scale, for the newest test with stars. Null where there is none.
 */
export function drawSampling(results: TrainResults): Figure | null {
  const test = listStarTests(results).at(-1);
  if (test === undefined || !(test.scale.umPerPx > 0)) return null;
  const shapes = listShapes(results, test);
  if (shapes.length === 0) return null;
  const pitchUm = test.scale.umPerPx;
  const widestPx = Math.max(...shapes.map(({ majorUm }) => majorUm)) / pitchUm;
  const column = (right - left) / shapes.length;
  const unitsPerPx = Math.min(34, (column - 16) / widestPx);
  const gridColumns = Math.floor((right - left) / unitsPerPx);
  const gridRows = Math.ceil(widestPx) + 2;
  const gridLeft = (figureWidth - gridColumns * unitsPerPx) / 2;
  const top = 8;
  const foot = top + gridRows * unitsPerPx;
  const hair = { stroke: colours.rule, "stroke-width": 0.5 };
  const grid = [
    ...Array.from({ length: gridColumns + 1 }, (_, k) =>
      drawLine(gridLeft + k * unitsPerPx, top, gridLeft + k * unitsPerPx, foot, hair),
    ),
    ...Array.from({ length: gridRows + 1 }, (_, k) =>
      drawLine(
        gridLeft,
        top + k * unitsPerPx,
        gridLeft + gridColumns * unitsPerPx,
        top + k * unitsPerPx,
        hair,
      ),
    ),
  ];
  const factors = listUnitFactors(test.scale);
  const drawn = shapes.map((shape, k) => {
    const x = left + column * (k + 0.5);
    const y = (top + foot) / 2;
    const numbers = widthUnits.map((unit) =>
      drawForUnit(
        unit,
        drawText(x, foot + 38, `${(shape.toldUm * factors[unit]).toFixed(2)} ${unitNames[unit]}`, {
          class: "num",
          "text-anchor": "middle",
        }),
      ),
    );
    return (
      drawElement("ellipse", {
        cx: x,
        cy: y,
        rx: (shape.majorUm / pitchUm / 2) * unitsPerPx,
        ry: (shape.minorUm / pitchUm / 2) * unitsPerPx,
        transform: `rotate(${(-shape.angleDeg).toFixed(2)} ${x.toFixed(2)} ${y.toFixed(2)})`,
        fill: shape.colour,
        "fill-opacity": 0.12,
        stroke: shape.colour,
        "stroke-width": 1.6,
        "stroke-dasharray": shape.dash,
      }) +
      drawText(x, foot + 19, shape.name, { "text-anchor": "middle" }) +
      numbers.join("")
    );
  });
  const told = (shape: Shape) => (shape.toldUm / pitchUm).toFixed(1);
  const stars = shapes.filter(({ name }) => name !== "Airy disc");
  // A width that the star before has to the same digits is not said twice.
  const spans = stars.map((shape, k) => {
    const width = k > 0 && told(stars[k - 1]) === told(shape) ? "" : `${told(shape)}\u00a0px `;
    return `${width}in the ${shape.name.replace(/ star$/, "")}`;
  });
  const title = `Stars span ${spans.join(" and ")}`;
  const subtitle = `Airy disc at 550\u00a0nm and half-maximum contours on the pixel grid, to scale, ${nameTest(test)}; pixel ${pitchUm.toFixed(2)}\u00a0µm, ${test.scale.arcsecPerPx.toFixed(2)}\u00a0arcsec.`;
  const alternative = `Pixel grid of ${nameTrain(results)} with ${shapes.map(({ name }) => name).join(", ")} drawn on it to one scale. ${title}.`;
  return {
    id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing({ id, title, alternative }, foot + 48, ...grid, ...drawn),
    data: {
      columns: [
        { key: "shape", heading: "Shape" },
        ...widthUnits.map((unit) => ({ key: `width_${unit}`, heading: `Width, ${unitNames[unit]}` })),
        { key: "long_axis_um", heading: "Long axis, µm" },
        { key: "short_axis_um", heading: "Short axis, µm" },
      ],
      rows: shapes.map((shape) => [
        shape.name,
        ...widthUnits.map((unit) => Number((shape.toldUm * factors[unit]).toFixed(3))),
        Number(shape.majorUm.toFixed(3)),
        Number(shape.minorUm.toFixed(3)),
      ]),
    },
    chart: null,
  };
}
