import type { Quantity } from "../maths/quantity.ts";
import type { Comparison, Verdict, VerdictUnit, Zone } from "../report/results.ts";
import { chooseDecimals, formatNumber } from "./format-number.ts";
import type { PageCell, PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";
import { ZONE_WORDS } from "./zone-words.ts";

const zones = Object.keys(ZONE_WORDS) as Zone[];

export const verdictWords: Record<Verdict, string> = {
  aSharper: "A sharper",
  bSharper: "B sharper",
  noDifference: "no difference that matters",
  cannotTell: "cannot be told",
};

/** In a row of twelve columns a word has to do; the note below says what it stands for. */
const shortVerdicts: Record<Verdict, string> = { ...verdictWords, noDifference: "alike" };

const unitRows: readonly [VerdictUnit, string][] = [
  ["px", "In pixels"],
  ["arcsec", "On the sky, each on its own night"],
  ["um", "Optics’ own blur on the sensor"],
  ["matched", "At equal sampling, in the coarser side’s pixels"],
  ["oneNight", "On the sky under one night, calculated"],
];

/** Limits are chosen or estimated numbers: two figures are as many as they bear. */
function roundToTwo(quantity: Quantity): Quantity {
  if (quantity.value === null) return quantity;
  const value = Number(quantity.value.toPrecision(2));
  return { ...quantity, value, lo: value, hi: value };
}

/** A side called sharper is so by more than nothing: an end of its interval that would read 0.0 gets another figure. */
function showNearerEnd(difference: Quantity, verdict: Verdict): PageCell {
  const cell = makeQuantityCell(difference, { sign: true });
  const isWon = verdict === "aSharper" || verdict === "bSharper";
  if (!isWon || difference.value === null) return cell;
  const decimals = chooseDecimals(difference.value, difference.lo, difference.hi);
  const nearer = Math.min(Math.abs(difference.lo), Math.abs(difference.hi));
  if (Number(nearer.toFixed(decimals)) !== 0) return cell;
  const [lo, hi] = [difference.lo, difference.hi].map((end) => formatNumber(end, decimals + 1));
  return { ...cell, interval: `${lo} to ${hi}` };
}

/** The verdict on the corners: one row a unit. */
export function makeVerdictTable({ verdict }: Comparison): PageTable {
  return {
    id: "tbl-verdict",
    number: 0,
    remarks: [],
    caption: "Verdict on the corner stars, unit by unit, with 95 % intervals",
    note: "B − A is positive where A is sharper. Within the difference that matters, either way, no side is called sharper. The last column is the smallest difference that data like these would show four times in five.",
    columns: [
      makeColumn("Compared"),
      makeColumn("Verdict"),
      makeColumn("B − A", true),
      makeColumn("Matters from", true),
      makeColumn("Could have shown", true),
    ],
    rows: unitRows.map(([unit, words]) => {
      const { class: verdictClass, difference, matters, shown } = verdict[unit];
      return [
        makeTextCell(words),
        makeTextCell(verdictWords[verdictClass]),
        showNearerEnd(difference, verdictClass),
        makeQuantityCell(roundToTwo(matters)),
        makeQuantityCell(roundToTwo(shown)),
      ];
    }),
    csv: {
      columns: [
        { key: "compared", heading: "Compared" },
        { key: "verdict", heading: "Verdict" },
        { key: "unit", heading: "Unit" },
        ...listQuantityKeys("difference", "unit"),
        { key: "matters", heading: "Matters from" },
        { key: "shown", heading: "Could have shown" },
      ],
      rows: unitRows.map(([unit]) => {
        const { class: verdictClass, difference, matters, shown } = verdict[unit];
        return [
          unit,
          verdictClass,
          difference.unit,
          ...listQuantityCells(difference),
          matters.value,
          shown.value,
        ];
      }),
    },
  };
}

interface Triple {
  a: Quantity;
  b: Quantity;
  difference: Quantity;
}

/** Under one night widths differ by the blur alone: thousandths of an arcsecond are as far as the calculation goes. */
function roundTriple({ a, b, difference }: Triple): Triple {
  const round = (quantity: Quantity): Quantity => {
    if (quantity.value === null) return quantity;
    const [value, lo, hi] = [quantity.value, quantity.lo, quantity.hi].map((one) => Number(one.toFixed(3)));
    return { ...quantity, value, lo, hi };
  };
  return { a: round(a), b: round(b), difference: round(difference) };
}

interface ZoneColumns {
  key: string;
  heading: string;
  unit: string;
  read: (zone: Comparison["zones"][Zone]) => Triple;
  verdict: VerdictUnit | null;
}

const widthUnit = (unit: "px" | "um" | "arcsec", heading: string): ZoneColumns => ({
  key: `fwhm_${unit}`,
  heading,
  unit,
  read: ({ a, b, difference }) => ({ a: a[unit], b: b[unit], difference: difference[unit] }),
  verdict: unit === "um" ? null : unit,
});

function makeZonesOf(
  comparison: Comparison,
  id: string,
  caption: string,
  note: string,
  groups: readonly ZoneColumns[],
): PageTable {
  const cells = (zone: Zone): PageCell[] =>
    groups.flatMap(({ read, verdict }) => {
      const { a, b, difference } = read(comparison.zones[zone]);
      return [
        makeQuantityCell(a, { unit: false }),
        makeQuantityCell(b, { unit: false }),
        makeQuantityCell(difference, { unit: false, sign: true }),
        ...(verdict === null ? [] : [makeTextCell(shortVerdicts[comparison.verdict.zones[zone][verdict]])]),
      ];
    });
  return {
    id,
    number: 0,
    remarks: [],
    caption,
    note: `${note} Alike: no difference that matters.`,
    columns: [
      makeColumn("Zone"),
      ...groups.flatMap(({ heading, verdict }) => [
        makeColumn(`A, ${heading}`, true),
        makeColumn(`B, ${heading}`, true),
        makeColumn(`B − A, ${heading}`, true),
        ...(verdict === null ? [] : [makeColumn(`Verdict, ${heading.split(", ")[0]}`)]),
      ]),
    ],
    rows: zones.map((zone) => [makeTextCell(ZONE_WORDS[zone]), ...cells(zone)]),
    csv: {
      columns: [
        { key: "zone", heading: "Zone" },
        ...groups.flatMap(({ key, unit }) =>
          ["a", "b", "difference"].flatMap((part) => listQuantityKeys(`${part}_${key}`, unit)),
        ),
      ],
      rows: zones.map((zone) => [
        zone,
        ...groups.flatMap(({ read }) => {
          const { a, b, difference } = read(comparison.zones[zone]);
          return [a, b, difference].flatMap(listQuantityCells);
        }),
      ]),
    },
  };
}

/** Widths as measured: pixels, sensor, sky; then with the night taken out. */
export function listZoneTables(comparison: Comparison): PageTable[] {
  return [
    makeZonesOf(
      comparison,
      "tbl-widths",
      "Star width by zone as measured, each side on its own night: medians with 95 % intervals",
      "FWHM, the pixel’s own width taken out. The sky of two nights differs: arcseconds tell what was seen, not what the optics would do under one night.",
      [widthUnit("px", "px"), widthUnit("um", "µm"), widthUnit("arcsec", "arcsec")],
    ),
    makeZonesOf(
      comparison,
      "tbl-optics",
      "The optics’ own blur by zone, and what both would show under one night, with 95 % intervals",
      "Own blur: air, guiding and diffraction taken out, as the width of the Gaussian of the same spread. An interval that starts at zero is an upper limit. Over the centre: the width over that of the side’s own centre.",
      [
        {
          key: "own",
          heading: "own blur, µm",
          unit: "um",
          read: ({ optics }) => optics,
          verdict: "um",
        },
        {
          key: "over_centre",
          heading: "over the centre",
          unit: "ratio",
          read: ({ overCentre }) => overCentre,
          verdict: null,
        },
        {
          key: "one_night",
          heading: "one night, arcsec",
          unit: "arcsec",
          read: ({ underOneNight }) => roundTriple(underOneNight),
          verdict: "oneNight",
        },
      ],
    ),
  ];
}

/** Widths at equal sampling; null where nothing was resampled. */
export function makeMatchedTable(comparison: Comparison): PageTable | null {
  const { matched } = comparison;
  if (matched === null) return null;
  return makeZonesOf(
    comparison,
    "tbl-matched",
    `Star width by zone at equal sampling, in pixels of ${matched.coarser.toUpperCase()}, with 95 % intervals`,
    "The finer side’s frames were resampled onto the coarser side’s pixels, each pixel the sum of what falls on it, and measured again with the star profile that they taught on their own pixels. Each side is still on its own night. The reverse is not offered: resolution cannot be added.",
    [
      {
        key: "matched",
        heading: "px",
        unit: "px",
        read: (zone) => {
          const name = zones.find((key) => comparison.zones[key] === zone) ?? "corner";
          return matched.zones[name];
        },
        verdict: "matched",
      },
    ],
  );
}
