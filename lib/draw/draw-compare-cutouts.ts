import type { Comparison } from "../report/results.ts";
import { type CropFrame, type CropSheet, countCell, defineSheet, drawCropWindow } from "./crop-sheet.ts";
import { sideSlots } from "./draw-compare-strip.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { drawMark } from "./marks.ts";
import { hasOneScale } from "./one-scale.ts";
import { colours } from "./palette.ts";
import type { SpokeCrop } from "./spoke-layout.ts";
import { drawElement, drawText } from "./svg.ts";
import { corners, zoneNames } from "./words.ts";

/** The sheet of a side's cut-outs as the comparison's page finds it; null where there is none. */
export type FindSideSheet = (side: "a" | "b") => CropSheet | null;

const id = "fig-compare-cutouts";
const places = ["centre", ...corners] as const;
const left = 26;
const gap = 8;
const side = (figureWidth - left - 10 - gap * (places.length - 1)) / places.length;
const rowHeight = side + 6;
const headHeight = 40;
/** Widths of the widest star that a window shows, as in the spokes. */
const widthsShown = 3.2;

interface Chosen {
  a: SpokeCrop | null;
  b: SpokeCrop | null;
}

/** Distance from the centre in the measure that both sides are matched in. */
type Measure = (side: "a" | "b", crop: SpokeCrop) => number;

/** Of each half-diagonal the outermost star that both sides reach, and of the other side the one nearest to it. */
function chooseCrops(comparison: Comparison, place: (typeof places)[number], measure: Measure): Chosen {
  const { a, b } = comparison.sides;
  const list = (name: "a" | "b", crops: readonly SpokeCrop[]) =>
    crops
      .filter(({ halfDiagonal }) => halfDiagonal === place)
      .sort((one, other) => measure(name, one) - measure(name, other));
  const [ofA, ofB] = [list("a", a.cutouts), list("b", b.cutouts)];
  if (place === "centre") return { a: ofA[0] ?? null, b: ofB[0] ?? null };
  const [lastA, lastB] = [ofA.at(-1), ofB.at(-1)];
  if (lastA === undefined || lastB === undefined) return { a: lastA ?? null, b: lastB ?? null };
  const reach = Math.min(measure("a", lastA), measure("b", lastB));
  const nearest = (name: "a" | "b", crops: readonly SpokeCrop[]) =>
    crops.reduce((best, crop) =>
      Math.abs(measure(name, crop) - reach) < Math.abs(measure(name, best) - reach) ? crop : best,
    );
  return { a: nearest("a", ofA), b: nearest("b", ofB) };
}

/** Draws the middle of a cut-out in a frame, `windowPx` of its pixels wide; null where there is no picture of it. */
type DrawSide = (side: "a" | "b", crop: SpokeCrop, windowPx: number, frame: CropFrame) => string | null;

/** A picture in its frame, or the word that there is none. */
function drawWindow(x: number, y: number, drawPicture: (frame: CropFrame) => string | null): string {
  const frame = { x, y, width: side, height: side };
  const ground = drawElement("rect", { ...frame, fill: colours.paper });
  const edge = drawElement("rect", { ...frame, fill: "none", stroke: colours.rule, "stroke-width": 0.8 });
  const picture = drawPicture(frame);
  if (picture === null) {
    return (
      ground +
      edge +
      drawText(x + side / 2, y + side / 2 + 4, "none", { class: "soft", "text-anchor": "middle" })
    );
  }
  return ground + picture + edge;
}

interface Group {
  heading: (window: string) => string;
  unit: string;
  /** Of one pixel of a side, in the unit of the window. */
  perPx: Record<"a" | "b", number>;
  measure: Measure;
}

/** Side of the window in the group's unit: the widest star with its wings, and no more than every cut-out holds. */
function chooseWindow(chosen: readonly Chosen[], { perPx }: Group): number | null {
  const sizes = chosen.flatMap(({ a, b }) => [
    ...(a === null ? [] : [{ wide: a.fwhmPx * perPx.a, whole: a.sidePx * perPx.a }]),
    ...(b === null ? [] : [{ wide: b.fwhmPx * perPx.b, whole: b.sidePx * perPx.b }]),
  ]);
  if (sizes.length === 0) return null;
  const wanted = widthsShown * Math.max(...sizes.map(({ wide }) => wide));
  return Math.min(wanted, ...sizes.map(({ whole }) => whole));
}

function drawGroup(
  group: Group,
  chosen: readonly Chosen[],
  window: number,
  drawSide: DrawSide,
  top: number,
): string {
  const heading = drawText(4, top + 14, group.heading(`${window.toPrecision(2)} ${group.unit}`), {
    class: "strong",
  });
  const names = places
    .map((place, k) => drawText(left + k * (side + gap), top + 33, zoneNames[place], { class: "soft" }))
    .join("");
  const rows = (["a", "b"] as const).map((name, row) => {
    const y = top + headHeight + row * rowHeight;
    const cells = chosen.map((pair, k) => {
      const crop = pair[name];
      return drawWindow(left + k * (side + gap), y, (frame) =>
        crop === null ? null : drawSide(name, crop, window / group.perPx[name], frame),
      );
    });
    const label =
      drawMark(sideSlots[name], 10, y + side / 2 - 12) + drawText(6, y + side / 2 + 8, name.toUpperCase());
    return label + cells.join("");
  });
  return heading + names + rows.join("");
}

function writeTable({ sides }: Comparison, groups: readonly { group: Group; chosen: Chosen[] }[]): DataTable {
  const rows = groups.flatMap(({ group, chosen }) =>
    chosen.flatMap((pair, k) =>
      (["a", "b"] as const).flatMap((name) => {
        const crop = pair[name];
        if (crop === null) return [];
        return [
          [
            group.unit === "arcsec" ? "equal angle" : "equal size on the sensor",
            zoneNames[places[k]],
            name.toUpperCase(),
            Number(crop.rMm.toFixed(2)),
            Number(crop.fwhmPx.toFixed(3)),
            Number((crop.fwhmPx * group.perPx[name]).toFixed(3)),
            group.unit,
            countCell(sides[name].cutouts.indexOf(crop)),
          ],
        ];
      }),
    ),
  );
  return {
    columns: [
      { key: "matched_by", heading: "Matched by" },
      { key: "place", heading: "Place" },
      { key: "side", heading: "Side" },
      { key: "radius_mm", heading: "Field radius, mm" },
      { key: "fwhm_px", heading: "FWHM, px" },
      { key: "fwhm", heading: "FWHM in the unit shown" },
      { key: "unit", heading: "Unit" },
      { key: "cell", heading: "Place in the side’s sheet" },
    ],
    rows,
  };
}

/** In how many of the pairs shown the star of B is the narrower, as "4 of 5". */
function countNarrower({ perPx }: Group, chosen: readonly Chosen[]): string {
  const pairs = chosen.filter(({ a, b }) => a !== null && b !== null);
  const narrower = pairs.filter(({ a, b }) => (b?.fwhmPx ?? 0) * perPx.b < (a?.fwhmPx ?? 0) * perPx.a);
  return `${narrower.length} of ${pairs.length}`;
}

/**
 * Single stars of both sides from the same places: cut to the same angle on the sky, and to the same size on the sensor.
 * Null where either side has no cut-outs.
 */
export function drawCompareCutouts(comparison: Comparison, findSheet: FindSideSheet): Figure | null {
  const { a, b } = comparison.sides;
  if (a.scale === null || b.scale === null || a.cutouts.length === 0 || b.cutouts.length === 0) return null;
  const focal = { a: a.scale.focalLengthMm, b: b.scale.focalLengthMm };
  const groups: Group[] = [
    {
      heading: (window) => `Cut to the same angle on the sky: ${window} wide`,
      unit: "arcsec",
      perPx: { a: a.scale.arcsecPerPx, b: b.scale.arcsecPerPx },
      measure: (name, { rMm }) => rMm / focal[name],
    },
    {
      heading: (window) => `Cut to the same size on the sensor: ${window} wide`,
      unit: "µm",
      perPx: { a: a.scale.umPerPx, b: b.scale.umPerPx },
      measure: (_, { rMm }) => rMm,
    },
  ];
  const isOne = hasOneScale(comparison);
  const drawn = (isOne ? groups.slice(0, 1) : groups).flatMap((group) => {
    const chosen = places.map((place) => chooseCrops(comparison, place, group.measure));
    const window = chooseWindow(chosen, group);
    return window === null ? [] : [{ group, chosen, window }];
  });
  if (drawn.length === 0) return null;
  const sheets = { a: findSheet("a"), b: findSheet("b") };
  const nameSheet = (name: "a" | "b") => `${id}-sheet-${name}`;
  const drawSide: DrawSide = (name, crop, windowPx, frame) => {
    const sheet = sheets[name];
    const index = comparison.sides[name].cutouts.indexOf(crop);
    if (sheet === null || sheet.missing.has(index)) return null;
    return drawCropWindow(nameSheet(name), sheet, { index, sidePx: crop.sidePx }, windowPx, frame);
  };
  const defined = (["a", "b"] as const).map((name) => {
    const sheet = sheets[name];
    return sheet === null ? "" : defineSheet(nameSheet(name), sheet);
  });
  const groupHeight = headHeight + 2 * rowHeight + 18;
  const [first, second] = drawn.map(({ group, chosen }) => countNarrower(group, chosen));
  const title =
    second === undefined
      ? `B’s star is the narrower in ${first} pairs`
      : `B’s star is the narrower in ${first} pairs on the sky, in ${second} on the sensor`;
  const alternative = isOne
    ? "Star cut-outs in a row for A and a row for B: the centre and the four corners. Every picture shows the same angle of sky."
    : "Two blocks of star cut-outs, each with a row for A and a row for B: the centre and the four corners. In the first block every picture shows the same angle of sky, in the second the same length on the sensor.";
  return {
    id,
    title,
    subtitle:
      "The centre’s star and the outermost that both sides reach along each half-diagonal. Each picture runs from its own background to its own brightest pixel: shapes compare, brightness does not. One star is not a measurement: see the table.",
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      drawn.length * groupHeight,
      ...defined,
      ...drawn.map(({ group, chosen, window }, k) =>
        drawGroup(group, chosen, window, drawSide, k * groupHeight),
      ),
    ),
    data: writeTable(comparison, drawn),
    chart: null,
  };
}
