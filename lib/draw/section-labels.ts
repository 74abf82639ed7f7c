import { figureWidth } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import type { Section } from "./section-geometry.ts";
import { placeX, type SectionPlace } from "./section-walls.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { estimateTextWidth, fitText } from "./text-width.ts";

export const legendRowHeight = 21;
const lineHeight = 29;

/** A dimension line with arrow heads from a distance to the sensor, its text above, kept within the figure. */
function drawDimension(place: SectionPlace, fromMm: number, y: number, label: string): string {
  const x1 = placeX(place, fromMm);
  const x2 = place.sensorX;
  const text = fitText(label, figureWidth - 8);
  const half = estimateTextWidth(text) / 2;
  const middle = Math.min(Math.max((x1 + x2) / 2, half + 4), figureWidth - 4 - half);
  const stroke = { stroke: colours.ink, "stroke-width": 0.8 };
  const head = (x: number, way: number) =>
    drawElement("path", {
      d: tracePath(
        [
          [x, y],
          [x + 7 * way, y - 2.4],
          [x + 7 * way, y + 2.4],
        ],
        true,
      ),
      fill: colours.ink,
    });
  return (
    drawLine(x1, y, x2, y, stroke) +
    head(x1, 1) +
    head(x2, -1) +
    drawText(middle, y - 6, text, {
      class: "num",
      "text-anchor": "middle",
      stroke: colours.paper,
      "stroke-width": 4,
      "paint-order": "stroke",
    })
  );
}

/** Required and actual back focus, or the plain length where nothing is required, with the error told in words. */
export function drawDimensions(
  section: Section,
  place: SectionPlace,
  top: number,
): { markup: string; height: number } {
  const { mechanicalMm, requiredMm } = section;
  const shiftMm = section.parts.reduce((sum, part) => sum + part.plateShiftMm, 0);
  const lines: { fromMm: number; label: string }[] = [];
  if (requiredMm !== null) {
    const glass = shiftMm > 0.0005 ? `, ${shiftMm.toFixed(2)} of it for glass` : "";
    lines.push({ fromMm: requiredMm, label: `required ${requiredMm.toFixed(2)} mm${glass}` });
    const error = mechanicalMm - requiredMm;
    const way = Math.abs(error) < 0.005 ? "as required" : error < 0 ? "too close" : "too far";
    const sign = error < 0 ? "−" : "+";
    lines.push({
      fromMm: mechanicalMm,
      label: `actual ${mechanicalMm.toFixed(2)} mm, error ${sign}${Math.abs(error).toFixed(2)} mm: ${way}`,
    });
  } else {
    lines.push({ fromMm: mechanicalMm, label: `${mechanicalMm.toFixed(2)} mm to the sensor` });
  }
  const hair = { stroke: colours.rule, "stroke-width": 0.8 };
  const foot = top + lineHeight * (lines.length - 1) + 14;
  const markup = lines.map(({ fromMm, label }, k) =>
    drawDimension(place, fromMm, top + k * lineHeight + 10, label),
  );
  const extensions = lines.map(({ fromMm }) =>
    drawLine(placeX(place, fromMm), place.axisY, placeX(place, fromMm), foot, {
      ...hair,
      "stroke-dasharray": "1.5 2.5",
    }),
  );
  const atSensor = drawLine(place.sensorX, place.axisY, place.sensorX, foot, {
    ...hair,
    "stroke-dasharray": "1.5 2.5",
  });
  return { markup: extensions.join("") + atSensor + markup.join(""), height: foot - top };
}

const columns = { number: 22, name: 34, length: 300, clear: 380, light: figureWidth - 6 };

/** The numbered list of parts: length, clear diameter and the diameter that the corner's light needs. */
export function drawLegend(section: Section, top: number): string {
  const right = { "text-anchor": "end" };
  const swatch = (x: number, y: number, colour: string, dash: string | undefined, text: string) =>
    drawLine(x, y - 4, x + 22, y - 4, { stroke: colour, "stroke-width": 1.4, "stroke-dasharray": dash }) +
    drawText(x + 28, y, text, { class: "soft" });
  const keyY = top;
  const headY = top + legendRowHeight + 6;
  const rows = section.parts.map((part, k) => {
    const y = headY + legendRowHeight * (k + 1);
    const tooNarrow = part.clearDiameterMm !== null && part.clearDiameterMm < part.lightDiameterMm;
    const clear = part.clearDiameterMm === null ? "not stated" : part.clearDiameterMm.toFixed(1);
    return (
      drawText(columns.number, y, String(k + 1), { class: "num strong", ...right }) +
      drawText(columns.name, y, fitText(part.name, columns.length - columns.name - 44)) +
      drawText(columns.length, y, (part.farMm - part.nearMm).toFixed(2), { class: "num", ...right }) +
      drawText(columns.clear, y, tooNarrow ? `< ${clear}` : clear, {
        class: tooNarrow ? "num strong" : "num",
        ...right,
      }) +
      drawText(columns.light, y, part.lightDiameterMm.toFixed(1), { class: "num", ...right })
    );
  });
  return (
    swatch(columns.name, keyY, colours.series[3], "5 3", "light to the centre") +
    swatch(columns.name + 196, keyY, colours.series[0], undefined, "light to the corner") +
    drawText(columns.name, headY, "part", { class: "soft" }) +
    drawText(columns.length, headY, "length, mm", { class: "soft", ...right }) +
    drawText(columns.clear, headY, "clear, mm", { class: "soft", ...right }) +
    drawText(columns.light, headY, "needed, mm", { class: "soft", ...right }) +
    drawLine(columns.number - 18, headY + 6, columns.light, headY + 6, {
      stroke: colours.rule,
      "stroke-width": 0.8,
    }) +
    rows.join("")
  );
}
