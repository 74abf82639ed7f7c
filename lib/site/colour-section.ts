import { nameColour } from "../draw/colour-words.ts";
import type { ColourPair, ColourResults } from "../report/colour-results.ts";
import type { TestResults } from "../report/results.ts";
import { formatDate, formatWithInterval } from "./format-number.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageTable,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";

export interface PageColour {
  sentences: string[];
  facts: { label: string; value: string }[];
  tables: PageTable[];
  notes: string[];
  /** Set where the numbers stand in full at another test of the same evening. */
  seeTest: { id: string; text: string } | null;
}

const pairColumns = [
  ["Lateral at the corner", "lateralAtCorner", "lateral", "um"],
  ["Difference of scale", "scaleDifference", "scale", "ppm"],
  ["Shift of the field", "constantShift", "shift", "um"],
  ["on the sky", "shiftOnSky", "shift_sky", "arcsec"],
  ["expected of the air", "expectedOnSky", "air_sky", "arcsec"],
  ["beyond the air", "beyondAir", "beyond_air", "um"],
] as const;

function readPair(pair: ColourPair, key: (typeof pairColumns)[number][1]) {
  return key === "constantShift" ? pair.constantShift.size : pair[key];
}

const signed = new Set(["lateralAtCorner", "scaleDifference", "beyondAir"]);

function makePairTable(test: TestResults, colour: ColourResults): PageTable {
  const name = ({ of, against }: ColourPair) => `${nameColour(of)} against ${nameColour(against)}`;
  return {
    id: `tbl-colour-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Places of the stars by colour, ${formatDate(test.date)}: what grows with the field radius, and what the whole field shares`,
    note: "Lateral colour is positive where the star stands farther out. The shift of the field is what the air’s dispersion makes; its direction is in the CSV.",
    columns: [
      makeColumn("Pair"),
      makeColumn("Stars", true),
      ...pairColumns.map(([heading]) => makeColumn(heading, true)),
    ],
    rows: colour.pairs.map((pair) => [
      makeTextCell(name(pair)),
      makeTextCell(pair.stars),
      ...pairColumns.map(([, key]) => makeQuantityCell(readPair(pair, key), { sign: signed.has(key) })),
    ]),
    csv: {
      columns: [
        { key: "of", heading: "Of" },
        { key: "against", heading: "Against" },
        { key: "stars", heading: "Stars" },
        { key: "frames", heading: "Frames" },
        ...pairColumns.flatMap(([, , key, unit]) => listQuantityKeys(key, unit)),
        ...listQuantityKeys("shift_angle", "deg"),
        ...listQuantityKeys("shift_x", "um"),
        ...listQuantityKeys("shift_y", "um"),
        ...listQuantityKeys("cubic", "um"),
        ...listQuantityKeys("air_at_corner", "um"),
        ...listQuantityKeys("lateral_over_pixel", "ratio"),
        ...listQuantityKeys("lateral_over_airy", "ratio"),
        ...listQuantityKeys("lateral_over_star_width", "ratio"),
      ],
      rows: colour.pairs.map((pair) => [
        pair.of,
        pair.against,
        pair.stars,
        pair.frames,
        ...pairColumns.flatMap(([, key]) => listQuantityCells(readPair(pair, key))),
        ...[
          pair.constantShift.angle,
          pair.shiftX,
          pair.shiftY,
          pair.cubicAtCorner,
          pair.airAtCorner,
          pair.over.pixel,
          pair.over.airy,
          pair.over.seeing,
        ].flatMap(listQuantityCells),
      ]),
    },
  };
}

function makeChannelTable(test: TestResults, colour: ColourResults): PageTable {
  const channels = Object.entries(colour.channels);
  const halo = (name: string) => colour.halo?.channels[name];
  const hasHalo = colour.halo !== null;
  return {
    id: `tbl-channels-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Width and best focus by colour, ${formatDate(test.date)}${hasHalo ? ", and the light far from bright stars" : ""}`,
    note: `Best focus counts from that in ${nameColour(colour.reference)}, away from the telescope positive.${
      colour.halo === null
        ? ""
        : ` Halo: light between ${colour.halo.fromPx.toFixed(0)} and ${colour.halo.toPx.toFixed(0)} pixels from a star, as a share of its light.`
    }`,
    columns: [
      makeColumn("Channel"),
      makeColumn("Passband, nm", true),
      makeColumn("FWHM, centre", true),
      makeColumn("FWHM, corners", true),
      makeColumn("Best focus", true),
      ...(hasHalo
        ? [makeColumn("Halo", true), makeColumn(`Halo over ${nameColour(colour.reference)}’s`, true)]
        : []),
    ],
    rows: channels.map(([name, channel]) => {
      const own = halo(name);
      return [
        makeTextCell(nameColour(name)),
        makeTextCell(channel.wavelengthNm),
        makeQuantityCell(channel.fwhm.um),
        makeQuantityCell(channel.cornerFwhm),
        makeQuantityCell(channel.bestFocusOffset, { sign: true }),
        ...(own === undefined ? [] : [makeQuantityCell(own.share), makeQuantityCell(own.overReference)]),
      ];
    }),
    csv: {
      columns: [
        { key: "channel", heading: "Channel" },
        { key: "passband_nm", heading: "Passband, nm" },
        ...listQuantityKeys("fwhm_centre", "um"),
        ...listQuantityKeys("fwhm_corners", "um"),
        ...listQuantityKeys("best_focus", "um"),
        ...(hasHalo
          ? [...listQuantityKeys("halo", "percent"), ...listQuantityKeys("halo_over_reference", "ratio")]
          : []),
      ],
      rows: channels.map(([name, channel]) => {
        const own = halo(name);
        return [
          name,
          channel.wavelengthNm,
          ...listQuantityCells(channel.fwhm.um),
          ...listQuantityCells(channel.cornerFwhm),
          ...listQuantityCells(channel.bestFocusOffset),
          ...(own === undefined
            ? []
            : [...listQuantityCells(own.share), ...listQuantityCells(own.overReference)]),
        ];
      }),
    },
  };
}

/** Colour of a test: what it says in words, and its numbers; in full once where several tests share it. Null without one. */
export function makeColourSection(test: TestResults): PageColour | null {
  const { colour } = test;
  if (colour === null) return null;
  const home = colour.tests.includes(test.id) ? colour.tests[0] : test.id;
  if (home !== test.id) {
    const text =
      "This evening’s frames through several filters are compared in one place, with the test named here.";
    return { sentences: [], facts: [], tables: [], notes: [text], seeTest: { id: home, text: home } };
  }
  const { airy, pixel, seeing } = colour.yardsticks;
  return {
    sentences: colour.pairs.map(({ sentence }) => spellUnits(sentence)),
    facts: [
      { label: `Airy disc in ${nameColour(colour.reference)}`, value: formatWithInterval(airy) },
      { label: "Pixel", value: formatWithInterval(pixel) },
      { label: "Star width the air gave", value: formatWithInterval(seeing) },
    ],
    tables: [makePairTable(test, colour), makeChannelTable(test, colour)],
    notes: colour.notes.map(spellUnits),
    seeTest: null,
  };
}
