import type { TrainResults } from "../report/results.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { findTightestPart, makeSection, type Section } from "./section-geometry.ts";
import { drawDimensions, drawLegend, legendRowHeight } from "./section-labels.ts";
import {
  chooseHalfApertureMm,
  drawHatchings,
  drawLastElement,
  drawLight,
  drawPart,
  drawSensor,
  markLimit,
  placeX,
  type SectionPlace,
  wallMm,
} from "./section-walls.ts";
import { drawElement, drawLine, drawText } from "./svg.ts";
import { fitText, spreadLabels } from "./text-width.ts";
import { nameTrain } from "./words.ts";

const id = "fig-section";

/** Below this an error in spacing is not told as one: a tenth of the finest common shim (chosen). */
const exactMm = 0.01;

function tellSection(section: Section): string {
  const tightest = findTightestPart(section);
  if (section.requiredMm !== null) {
    const error = section.mechanicalMm - section.requiredMm;
    if (Math.abs(error) < exactMm) return "The stack meets the required back focus";
    const way = error < 0 ? "shorter" : "longer";
    return `The stack is ${Math.abs(error).toFixed(2)}\u00a0mm ${way} than the required back focus`;
  }
  if (tightest === null) return "No clear diameter is on record between telescope and sensor";
  return tightest.roomMm >= 0
    ? `The corner’s light passes every ring, with ${tightest.roomMm.toFixed(1)}\u00a0mm to spare`
    : `A ring takes ${(-tightest.roomMm).toFixed(1)}\u00a0mm of the corner’s light`;
}

function tellClearance(section: Section): string {
  const tightest = findTightestPart(section);
  const pupil =
    section.exitPupilMm === null
      ? "light taken as telecentric"
      : `exit pupil ${section.exitPupilMm} mm from the sensor`;
  if (tightest === null) return `No clear diameter is on record; ${pupil}.`;
  if (section.limitingPart !== null) {
    const limits = section.parts[section.limitingPart];
    return `Limits the corner’s light: ${fitText(limits.name, 300)}, ${limits.clearDiameterMm?.toFixed(1)}\u00a0mm clear where ${limits.lightDiameterMm.toFixed(1)}\u00a0mm is needed, marked by wedges; ${pupil}.`;
  }
  const { part } = tightest;
  return `Narrowest for the corner’s light: ${fitText(part.name, 300)}, ${part.clearDiameterMm?.toFixed(1)}\u00a0mm clear where ${part.lightDiameterMm.toFixed(1)}\u00a0mm is needed; ${pupil}.`;
}

function writeTable(section: Section): DataTable {
  const round = (value: number) => Number(value.toFixed(3));
  return {
    columns: [
      { key: "number", heading: "No." },
      { key: "part", heading: "Part" },
      { key: "length_mm", heading: "Length, mm" },
      { key: "far_end_from_sensor_mm", heading: "Far end from the sensor, mm" },
      { key: "clear_diameter_mm", heading: "Clear diameter, mm" },
      { key: "light_diameter_mm", heading: "Needed for the corner’s light, mm" },
      { key: "plate_shift_mm", heading: "Shift by glass, mm" },
    ],
    rows: section.parts.map((part, k) => [
      k + 1,
      part.name,
      round(part.farMm - part.nearMm),
      round(part.farMm),
      part.clearDiameterMm,
      round(part.lightDiameterMm),
      round(part.plateShiftMm),
    ]),
  };
}

/** Numbers above the parts with leaders, spread so that none runs into another. */
function drawNumbers(section: Section, place: SectionPlace, topY: number): string {
  const middles = section.parts.map((part) => placeX(place, (part.farMm + part.nearMm) / 2));
  const at = spreadLabels(middles, 22, 12, figureWidth - 12);
  return section.parts
    .map((part, k) => {
      const wallTop = place.axisY - (chooseHalfApertureMm(part) + wallMm) * place.unitsPerMm;
      return (
        drawLine(at[k], topY + 5, middles[k], wallTop, { stroke: colours.rule, "stroke-width": 0.8 }) +
        drawText(at[k], topY, String(k + 1), { class: "num strong key", "text-anchor": "middle" })
      );
    })
    .join("");
}

/**
 * The train from the last element to the sensor, cut along the sensor's diagonal, to scale along and across: parts with
 * their clear apertures, glass, the light to centre and corner, required and actual back focus, and a numbered list.
 * Null where the records do not give lengths, focal ratio and sensor.
 */
export function drawSection(results: TrainResults): Figure | null {
  const section = makeSection(results);
  if (section === null) return null;
  const longestMm = Math.max(section.mechanicalMm, section.requiredMm ?? 0);
  const highestMm = Math.max(...section.parts.map(chooseHalfApertureMm), section.halfDiagonalMm) + wallMm;
  const leftRoom = 26;
  const rightRoom = 24;
  const unitsPerMm = Math.min((figureWidth - leftRoom - rightRoom) / longestMm, 260 / (2 * highestMm));
  const spare = figureWidth - leftRoom - rightRoom - longestMm * unitsPerMm;
  const topY = 18;
  const place: SectionPlace = {
    id,
    unitsPerMm,
    axisY: topY + 28 + highestMm * unitsPerMm,
    sensorX: figureWidth - rightRoom - spare / 2,
  };
  const lightToMm = section.mechanicalMm + 9 / unitsPerMm;
  const below = place.axisY + highestMm * unitsPerMm;
  const dimensions = drawDimensions(section, place, below + 24);
  const legendTop = below + 24 + dimensions.height + 22;
  const legend = drawLegend(section, legendTop);
  const title = tellSection(section);
  const subtitle = `Section along the sensor’s diagonal, to scale, light from the left; wall thickness is not on record. ${tellClearance(section)}`;
  const alternative = `Section of ${nameTrain(results)} from the last element to the sensor with ${section.parts.length} parts over ${section.mechanicalMm.toFixed(2)} mm. ${title}.`;
  return {
    id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      legendTop + legendRowHeight * (section.parts.length + 2.4),
      drawHatchings(id),
      drawLight(section, place, lightToMm),
      drawLine(placeX(place, lightToMm), place.axisY, place.sensorX + 16, place.axisY, {
        stroke: colours.rule,
        "stroke-width": 0.8,
        "stroke-dasharray": "12 3 2 3",
      }),
      drawElement(
        "g",
        { class: "parts" },
        ...section.parts.map((part, k) => drawPart(part, k, place, k === section.limitingPart)),
      ),
      section.correctorName === null ? "" : drawLastElement(section, place),
      drawSensor(section, place),
      drawNumbers(section, place, topY),
      section.limitingPart === null
        ? ""
        : markLimit(
            section.parts[section.limitingPart],
            place,
            `leaves ${section.limitingPercent?.toFixed(0)} %`,
          ),
      dimensions.markup,
      legend,
    ),
    data: writeTable(section),
    chart: null,
  };
}
