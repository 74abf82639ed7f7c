import type { Quantity } from "../maths/quantity.ts";
import type { Comparison, EquipmentLine, NightFacts } from "../report/results.ts";
import { formatDate } from "./format-number.ts";
import type { PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";

/** Everything beside sharpness. */
export function makeEquipmentTable({ equipment }: Comparison): PageTable {
  const isRelative = ({ id }: EquipmentLine) => id === "lightPerPixel" || id === "lightPerArea";
  return {
    id: "tbl-equipment",
    number: 0,
    remarks: [],
    caption: "Everything else that may decide between the two",
    note: "B against A: how many times A’s value B’s is (×), or B minus A.",
    columns: [
      makeColumn("What"),
      makeColumn("A", true),
      makeColumn("B", true),
      makeColumn("B against A", true),
      makeColumn("Meaning"),
    ],
    rows: equipment.map((line) => {
      const change =
        line.change === null
          ? makeTextCell("")
          : makeQuantityCell(line.change, { sign: line.changeIs === "difference" });
      // Light counts only as a ratio: its numbers have no unit a reader knows.
      const sign = line.id === "spacingError";
      const own = (quantity: Quantity) =>
        isRelative(line) ? makeTextCell("") : makeQuantityCell(quantity, { sign });
      return [
        makeTextCell(line.name),
        own(line.a),
        own(line.b),
        line.change === null
          ? change
          : { ...change, text: line.changeIs === "ratio" ? `× ${change.text}` : change.text },
        makeTextCell(spellUnits(line.explanation)),
      ];
    }),
    csv: {
      columns: [
        { key: "what", heading: "What" },
        { key: "unit", heading: "Unit" },
        ...listQuantityKeys("a", "unit"),
        ...listQuantityKeys("b", "unit"),
        { key: "change_is", heading: "Change is" },
        ...listQuantityKeys("change", "unit"),
      ],
      rows: equipment.map((line) => [
        line.id,
        line.a.unit,
        ...listQuantityCells(line.a),
        ...listQuantityCells(line.b),
        line.changeIs,
        ...(line.change === null ? [null, null, null, null] : listQuantityCells(line.change)),
      ]),
    },
  };
}

/** CSV columns of a table that sets the two sides beside each other. */
const sideColumns = [
  { key: "what", heading: "What" },
  { key: "unit", heading: "Unit" },
  ...listQuantityKeys("a", "unit"),
  ...listQuantityKeys("b", "unit"),
];

const nightQuantities: readonly [keyof NightFacts, string][] = [
  ["exposure", "Exposure of a frame"],
  ["altitude", "Altitude"],
  ["airAndGuiding", "Air and guiding together, FWHM"],
  ["seeing", "Seeing, from the field model"],
  ["tracking", "Ellipticity from tracking"],
  ["guidingRms", "Guiding log, RMS"],
  ["frameScatter", "Scatter of the frames’ widths"],
];

/** Both nights side by side. */
export function makeNightsTable({ nights }: Comparison): PageTable {
  const sides = [nights.a, nights.b];
  const words: [string, (night: NightFacts) => string | number | null][] = [
    ["Date", ({ date }) => (date === null ? "no test" : formatDate(date))],
    ["Frames in focus", ({ frames }) => frames],
    ["Target", ({ target }) => target],
    ["Filter", ({ filter }) => filter],
    ["Moon", ({ moon }) => moon],
  ];
  const read = (night: NightFacts, key: keyof NightFacts) => night[key] as Quantity;
  return {
    id: "tbl-nights",
    number: 0,
    remarks: [],
    caption: "The two nights",
    note: null,
    columns: [makeColumn("What"), makeColumn("A", true), makeColumn("B", true)],
    rows: [
      ...words.map(([name, say]) => [makeTextCell(name), ...sides.map((night) => makeTextCell(say(night)))]),
      ...nightQuantities.map(([key, name]) => [
        makeTextCell(name),
        ...sides.map((night) => makeQuantityCell(read(night, key))),
      ]),
    ],
    csv: {
      columns: sideColumns,
      rows: nightQuantities.map(([key]) => [
        key,
        read(nights.a, key).unit,
        ...listQuantityCells(read(nights.a, key)),
        ...listQuantityCells(read(nights.b, key)),
      ]),
    },
  };
}

/**
 * Finer than this share, digits mean nothing here: the focal length and the aperture that these numbers start from are a
 * maker's figures, which hold to a tenth of a percent at best (chosen).
 */
const finestShare = 0.001;

/** A number told finer is printed to three figures, as focal lengths are spoken of; its interval is left to the CSV. */
function roundToUse(quantity: Quantity): Quantity {
  if (quantity.value === null) return quantity;
  if (quantity.hi - quantity.lo >= finestShare * Math.abs(quantity.value)) return quantity;
  const value = Number(quantity.value.toPrecision(3));
  return { ...quantity, value, lo: value, hi: value };
}

/** Focal lengths, focal ratios and image scales as used; null where nothing was measured between the two sides. */
export function makeScaleTable({ scales }: Comparison): PageTable | null {
  if (scales === undefined || scales.from === "records") return null;
  const lines = [
    ["focal_length", "Focal length as used", scales.focalLength],
    ["focal_ratio", "Focal ratio as used", scales.focalRatio],
    ["image_scale", "Sky on one pixel", scales.imageScale],
  ] as const;
  const assumes = [scales.focalLength.a, scales.focalLength.b].flatMap((quantity) =>
    quantity.value === null || quantity.assumes === undefined ? [] : [quantity.assumes],
  );
  return {
    id: "tbl-scale",
    number: 0,
    remarks: [],
    caption: "What the measured ratio makes of both sides",
    note: [
      ...(assumes.length === 0 ? [] : [spellUnits(assumes[assumes.length - 1])]),
      "A range in small figures is a 95 % interval; one finer than print stands in the CSV alone.",
    ].join(" "),
    columns: [makeColumn("What"), makeColumn("A", true), makeColumn("B", true)],
    rows: lines.map(([, name, { a, b }]) => [
      makeTextCell(name),
      ...[a, b].map((side) => makeQuantityCell(roundToUse(side))),
    ]),
    csv: {
      columns: sideColumns,
      rows: lines.map(([id, , { a, b }]) => [id, a.unit, ...listQuantityCells(a), ...listQuantityCells(b)]),
    },
  };
}
