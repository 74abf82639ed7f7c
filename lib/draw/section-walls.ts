import { colours } from "./palette.ts";
import type { Section, SectionPart } from "./section-geometry.ts";
import { computeBeamEdge } from "./section-geometry.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";

/** Where the drawing lies: axis height, sensor's place, scale. */
export interface SectionPlace {
  axisY: number;
  sensorX: number;
  unitsPerMm: number;
  /** Id of the figure, before the ids of its hatchings. */
  id: string;
}

/** Thickness of a wall in the drawing, mm: records give clear diameters only, the outside is not to scale. */
export const wallMm = 3.5;

/** Room an aperture not on record is drawn wider than the light in it, mm. */
const assumedRoomMm = 3;

export function placeX(place: SectionPlace, distanceMm: number): number {
  return place.sensorX - distanceMm * place.unitsPerMm;
}

/** Half of the aperture as drawn, mm. */
export function chooseHalfApertureMm(part: SectionPart): number {
  return (part.clearDiameterMm ?? part.lightDiameterMm + 2 * assumedRoomMm) / 2;
}

/** Two hatchings of opposite lean, as drawing practice tells neighbouring cut parts apart (ISO 128-50). */
export function drawHatchings(id: string): string {
  const lean = (name: string, angle: number) =>
    drawElement(
      "pattern",
      {
        id: `${id}-${name}`,
        width: 4,
        height: 4,
        patternUnits: "userSpaceOnUse",
        patternTransform: `rotate(${angle})`,
      },
      drawLine(0, 2, 4, 2, { stroke: colours.inkSoft, "stroke-width": 0.7 }),
    );
  return drawElement("defs", {}, lean("hatch-a", 45), lean("hatch-b", -45));
}

/** A part cut along the axis: hatched walls above and below, glass where it has some. */
export function drawPart(part: SectionPart, index: number, place: SectionPlace, limits = false): string {
  const x = placeX(place, part.farMm);
  const width = (part.farMm - part.nearMm) * place.unitsPerMm;
  const inner = chooseHalfApertureMm(part) * place.unitsPerMm;
  const wall = wallMm * place.unitsPerMm;
  const known = part.clearDiameterMm !== null;
  const fill = known ? `url(#${place.id}-hatch-${index % 2 === 0 ? "a" : "b"})` : "none";
  const walls = [place.axisY - inner - wall, place.axisY + inner].map((y) =>
    drawElement("rect", {
      x,
      y,
      width,
      height: wall,
      fill,
      stroke: limits ? colours.accent : colours.ink,
      "stroke-width": limits ? 2.2 : 0.8,
      "stroke-dasharray": known ? undefined : "3 2",
    }),
  );
  const glassWidth = Math.min(part.glassMm * place.unitsPerMm, width);
  const glass =
    glassWidth > 0
      ? drawElement("rect", {
          x: x + (width - glassWidth) / 2,
          y: place.axisY - inner,
          width: glassWidth,
          height: 2 * inner,
          fill: colours.series[1],
          "fill-opacity": 0.25,
          stroke: colours.series[1],
          "stroke-width": 0.9,
        })
      : "";
  return walls.join("") + glass;
}

/** Two wedges at the far end of the limiting part, where its edge cuts the light, and the word for it. */
export function markLimit(part: SectionPart, place: SectionPlace, words: string): string {
  const x = placeX(place, part.farMm);
  const inner = chooseHalfApertureMm(part) * place.unitsPerMm;
  const wedge = (y: number, way: number) =>
    drawElement("path", {
      d: tracePath(
        [
          [x, y],
          [x - 6, y + 11 * way],
          [x + 6, y + 11 * way],
        ],
        true,
      ),
      fill: colours.accent,
    });
  const text = drawText(x + 9, place.axisY - inner + 15, words, {
    class: "strong",
    fill: colours.accent,
    stroke: colours.paper,
    "stroke-width": 4,
    "paint-order": "stroke",
  });
  return wedge(place.axisY - inner, 1) + wedge(place.axisY + inner, -1) + text;
}

/** Light to the sensor's centre (broken edge) and to its upper corner (full edge), as far as the last element. */
export function drawLight(section: Section, place: SectionPlace, toMm: number): string {
  const cone = (heightMm: number, colour: string, dash: string | undefined) => {
    const [low, high] = computeBeamEdge(section, heightMm, toMm);
    const tip = [place.sensorX, place.axisY - heightMm * place.unitsPerMm] as const;
    const far = placeX(place, toMm);
    const edge = (mm: number) => [far, place.axisY - mm * place.unitsPerMm] as const;
    return (
      drawElement("path", {
        d: tracePath([edge(high), tip, edge(low)], true),
        fill: colour,
        "fill-opacity": 0.13,
      }) +
      drawElement("path", {
        d: tracePath([edge(high), tip, edge(low)]),
        fill: "none",
        stroke: colour,
        "stroke-width": 1.1,
        "stroke-dasharray": dash,
      })
    );
  };
  return cone(0, colours.series[3], "5 3") + cone(section.halfDiagonalMm, colours.series[0], undefined);
}

/** A lens of the corrector in outline; its form is a sign, not the maker's design. */
export function drawLastElement(section: Section, place: SectionPlace): string {
  const [, high] = computeBeamEdge(section, section.halfDiagonalMm, section.mechanicalMm);
  const half = (high + 2) * place.unitsPerMm;
  const x = placeX(place, section.mechanicalMm) - 9;
  const bulge = 9;
  const { axisY } = place;
  const d = `M${x} ${axisY - half}Q${x + bulge} ${axisY} ${x} ${axisY + half}Q${x - bulge * 1.6} ${axisY} ${x} ${axisY - half}Z`;
  return drawElement("path", {
    d: d.replace(/\d+\.\d+/g, (number) => String(Math.round(Number(number) * 100) / 100)),
    fill: colours.series[1],
    "fill-opacity": 0.25,
    stroke: colours.ink,
    "stroke-width": 0.9,
  });
}

/** The sensor as a bar of its half-diagonals, and the camera's back behind it. */
export function drawSensor(section: Section, place: SectionPlace): string {
  const half = section.halfDiagonalMm * place.unitsPerMm;
  const last = section.parts[section.parts.length - 1];
  const outer = (chooseHalfApertureMm(last) + wallMm) * place.unitsPerMm;
  const { sensorX, axisY } = place;
  const back = [
    [sensorX, axisY - outer],
    [sensorX + 16, axisY - outer],
    [sensorX + 16, axisY + outer],
    [sensorX, axisY + outer],
  ] as const;
  return (
    drawElement("path", {
      d: tracePath(back),
      fill: "none",
      stroke: colours.ink,
      "stroke-width": 0.8,
      "stroke-dasharray": last.clearDiameterMm === null ? "3 2" : undefined,
    }) + drawElement("rect", { x: sensorX, y: axisY - half, width: 4, height: 2 * half, fill: colours.ink })
  );
}
