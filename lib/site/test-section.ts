import type { TestResults } from "../report/results.ts";
import { makeCausesSection, type PageCauses } from "./causes-section.ts";
import type { PageChange, TestStep } from "./change-section.ts";
import { makeColourSection, type PageColour } from "./colour-section.ts";
import { makeEdgeSection, type PageEdge } from "./edge-section.ts";
import { formatDate, formatPlain, formatQuantity } from "./format-number.ts";
import type { PageLight } from "./light-section.ts";
import { makeNightSection, type PageNight } from "./night-section.ts";
import type { PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";
import type { PlacedFigure } from "./place-figures.ts";
import { stretchWords } from "./stretch-crop.ts";
import type { WrittenSheet } from "./write-sheets.ts";
import { makeWidthTable, makeZoneTable } from "./zone-tables.ts";

export interface PageTest {
  id: string;
  date: string;
  /** Against the test before; null for the first. Set with `steps` when the page is put together. */
  change: PageChange | null;
  steps: { earlier: TestStep | null; later: TestStep | null };
  conditions: { label: string; value: string }[];
  framesTable: PageTable | null;
  figures: PlacedFigure[];
  zoneTables: PageTable[];
  /** What ails the frames and what to do; null where nothing was fitted. */
  causes: PageCauses | null;
  /** What colours do to the stars' places and widths; null where there is one channel. */
  colour: PageColour | null;
  /** The Moon's limb; null where the record names no edge. */
  edge: PageEdge | null;
  /** How light falls off, and which ring does it; null where nothing tells. */
  light: PageLight | null;
  night: PageNight | null;
  /** Sheets of star cut-outs beside the page: for the eye, and as measured. */
  sheets: { words: string; seen: string; measured: string }[];
  stretchWords: string;
  notesMarkdown: string;
  warnings: string[];
  /** What the page says where the test holds no star measurement. */
  withoutStars: string | null;
}

/** A frame as the page names it: the file without the folders, which say where it lay on one person's disk. */
function nameFrame(file: string): string {
  return file.slice(file.lastIndexOf("/") + 1);
}

/** A key that ends in C, as "temperatureC", holds degrees. */
const isInCelsius = (key: string) => /[a-z]C$/.test(key);

/** "seeingNote" as "Seeing note", "temperatureC" as "Temperature". */
function wordKey(key: string): string {
  const words = key
    .replace(/(?<=[a-z])C$/, "")
    .replace(/([a-z0-9])([A-Z])/g, (_, before: string, after: string) => `${before} ${after.toLowerCase()}`);
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
}

function listConditions(test: TestResults): { label: string; value: string }[] {
  const { record, scale, sensor } = test;
  const spacers = record.spacersMm?.map((mm) => `${formatPlain(mm)} mm`).join(" + ");
  const lines: { label: string; value: string | null | undefined }[] = [
    { label: "Spacers and shims", value: spacers === "" ? "none" : spacers },
    {
      label: "Spacing error",
      value: test.spacingError === null ? null : formatQuantity(test.spacingError, { sign: true }),
    },
    { label: "Filter", value: record.filter },
    {
      label: "Camera angle",
      value: record.cameraAngleDeg === null ? null : `${formatPlain(record.cameraAngleDeg)}°`,
    },
    { label: "Altitude", value: record.altitudeDeg === null ? null : `${formatPlain(record.altitudeDeg)}°` },
    ...Object.entries(record.conditions).map(([key, value]) => ({
      label: wordKey(key),
      value: typeof value === "number" ? `${formatPlain(value)}${isInCelsius(key) ? "\u00a0°C" : ""}` : value,
    })),
    {
      label: "Scale used",
      value: `${formatPlain(scale.arcsecPerPx)}″ and ${formatPlain(scale.umPerPx)} µm per pixel (${formatPlain(scale.focalLengthMm)} mm, from the ${scale.from})`,
    },
    {
      label: "Sensor",
      value: `${formatPlain(sensor.widthMm)}\u00a0×\u00a0${formatPlain(sensor.heightMm)}\u00a0mm`,
    },
  ];
  return lines.flatMap(({ label, value }) =>
    value === null || value === undefined ? [] : [{ label, value }],
  );
}

function makeFramesTable(test: TestResults): PageTable | null {
  if (test.frames.length === 0) return null;
  return {
    id: `tbl-frames-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Frames measured, ${formatDate(test.date)}: stars found, used and saturated, background and noise of each`,
    note: null,
    columns: [
      makeColumn("Frame"),
      makeColumn("Found", true),
      makeColumn("Used", true),
      makeColumn("Saturated", true),
      makeColumn("Background", true),
      makeColumn("Noise", true),
      makeColumn("Remarks"),
    ],
    rows: test.frames.map((frame) => [
      makeTextCell(nameFrame(frame.file)),
      makeTextCell(frame.found),
      makeTextCell(frame.used),
      makeTextCell(frame.saturated),
      makeQuantityCell(frame.background),
      makeQuantityCell(frame.noise),
      makeTextCell(frame.warnings.length === 0 ? "none" : frame.warnings.join(" ")),
    ]),
    csv: {
      columns: [
        { key: "file", heading: "Frame" },
        { key: "sha256", heading: "SHA-256" },
        { key: "found", heading: "Found" },
        { key: "used", heading: "Used" },
        { key: "saturated", heading: "Saturated" },
        ...listQuantityKeys("background", "ADU"),
        ...listQuantityKeys("noise", "ADU"),
        { key: "remarks", heading: "Remarks" },
      ],
      rows: test.frames.map((frame) => [
        frame.file,
        frame.sha256,
        frame.found,
        frame.used,
        frame.saturated,
        ...listQuantityCells(frame.background),
        ...listQuantityCells(frame.noise),
        frame.warnings.join(" "),
      ]),
    },
  };
}

/** What a sheet holds: "21 stars, in cells of 21 px below each other". */
function describeSheet({ kind, sheet }: WrittenSheet): string {
  const what = kind === "spokes" ? "Star cut-outs" : "Cut-outs in every colour";
  return `${what} (${sheet.cells}, below each other in cells of ${sheet.cellPx}\u00a0px)`;
}

/** One night's test as its part of the page. */
export function makeTestSection(
  test: TestResults,
  figures: PlacedFigure[],
  sheets: readonly WrittenSheet[],
  light: PageLight | null,
): PageTest {
  const channels = Object.entries(test.channelZones);
  const zoneTables =
    test.zones === null
      ? []
      : [
          makeZoneTable(test, test.zones, test.channel, `tbl-zones-${test.id}`),
          makeWidthTable(test, test.zones, test.channel, `tbl-widths-${test.id}`),
          ...channels.map(([channel, zones]) =>
            makeZoneTable(
              test,
              zones,
              channel,
              `tbl-zones-${channel.replace(/[^A-Za-z0-9]/g, "-")}-${test.id}`,
            ),
          ),
        ];
  return {
    id: test.id,
    date: formatDate(test.date),
    change: null,
    steps: { earlier: null, later: null },
    conditions: listConditions(test),
    framesTable: makeFramesTable(test),
    figures,
    zoneTables,
    causes: makeCausesSection(test),
    colour: makeColourSection(test),
    edge: makeEdgeSection(test),
    light,
    night: makeNightSection(test),
    sheets: sheets.map((one) => ({
      words: describeSheet(one),
      seen: one.seen,
      measured: one.measured,
    })),
    stretchWords,
    notesMarkdown: test.record.notesMarkdown,
    warnings: test.warnings,
    withoutStars:
      test.zones === null ? "No star was measured in this test, so there is no zone table." : null,
  };
}
