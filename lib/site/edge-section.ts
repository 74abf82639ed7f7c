import { nameColour } from "../draw/colour-words.ts";
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

export interface PageEdge {
  sentences: string[];
  facts: { label: string; value: string }[];
  table: PageTable | null;
  notes: string[];
}

const caution =
  "The Moon only: a telescope pointed near the Sun without a certified filter over the full aperture blinds and burns.";

/** The Moon's limb as a part of the test; null where the record names no edge or nothing was measured. */
export function makeEdgeSection(test: TestResults): PageEdge | null {
  const edge = test.edge ?? null;
  if (edge === null) return null;
  const channels = Object.entries(edge.channels);
  const pairOf = (name: string) => edge.pairs.find(({ of }) => of === name);
  const table: PageTable = {
    id: `tbl-edge-${test.id}`,
    number: 0,
    remarks: [],
    caption: `The Moon’s limb by colour, ${formatDate(test.date)}: how wide its edge is and where it lies`,
    note: "Spread: the distance over which the light falls from 90 to 10 %, as sampled. Finest pattern: the period that keeps half its contrast. Larger disc and shift are against the reference channel; the stars’ column is what their lateral colour makes of the disc’s size.",
    columns: [
      makeColumn("Channel"),
      makeColumn("Spread", true),
      makeColumn("Line width, FWHM", true),
      makeColumn("Finest pattern", true),
      makeColumn("Larger disc", true),
      makeColumn("by the stars", true),
      makeColumn("Shift of the disc", true),
    ],
    rows: channels.map(([name, channel]) => {
      const pair = pairOf(name);
      const rest =
        pair === undefined
          ? [makeTextCell("reference"), makeTextCell(""), makeTextCell("")]
          : [
              makeQuantityCell(pair.radiusDifference, { sign: true }),
              makeQuantityCell(pair.radiusFromStars, { sign: true }),
              makeQuantityCell(pair.shift.size),
            ];
      return [
        makeTextCell(nameColour(name)),
        makeQuantityCell(channel.spread.um),
        makeQuantityCell(channel.fwhm.um),
        makeQuantityCell(channel.halfContrastPeriod),
        ...rest,
      ];
    }),
    csv: {
      columns: [
        { key: "channel", heading: "Channel" },
        ...listQuantityKeys("spread", "um"),
        ...listQuantityKeys("line_width", "um"),
        ...listQuantityKeys("half_contrast_period", "um"),
        ...listQuantityKeys("larger_disc", "um"),
        ...listQuantityKeys("larger_disc_by_stars", "um"),
        ...listQuantityKeys("shift", "um"),
        ...listQuantityKeys("shift_angle", "deg"),
      ],
      rows: channels.map(([name, channel]) => {
        const pair = pairOf(name);
        const rest =
          pair === undefined
            ? Array.from({ length: 16 }, () => null)
            : [pair.radiusDifference, pair.radiusFromStars, pair.shift.size, pair.shift.angle].flatMap(
                listQuantityCells,
              );
        return [
          name,
          ...[channel.spread.um, channel.fwhm.um, channel.halfContrastPeriod].flatMap(listQuantityCells),
          ...rest,
        ];
      }),
    },
  };
  return {
    sentences: edge.pairs.map(({ sentence }) => spellUnits(sentence)),
    facts: [
      { label: "Bright limb measured", value: formatWithInterval(edge.arc) },
      { label: "Stretches", value: String(edge.stretches.length) },
    ],
    table: channels.length === 0 ? null : table,
    notes: [...edge.frames.flatMap(({ warnings }) => warnings), caution],
  };
}
