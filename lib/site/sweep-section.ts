import type { Quantity } from "../maths/quantity.ts";
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

export interface PageSweep {
  notes: string[];
  table: PageTable;
  facts: { label: string; value: string }[];
}

const zoneWords = {
  centre: "Centre",
  middle: "Middle",
  outer: "Outer",
  corner: "All corners",
  upperLeft: "Upper left",
  upperRight: "Upper right",
  lowerLeft: "Lower left",
  lowerRight: "Lower right",
} as const;

/** The focus sweep of a test: what it settles, and best focus zone by zone; null without one. */
export function makeSweepSection(test: TestResults): PageSweep | null {
  const { sweep } = test;
  if (sweep === null) return null;
  const zones = Object.keys(zoneWords) as (keyof typeof zoneWords)[];
  const settles =
    "The sweep tells heights with their sign and needs no astigmatism for it: where it and the frames in focus differ, trust the sweep.";
  const fact = (label: string, quantity: Quantity | undefined | null, sign = false) =>
    quantity === undefined || quantity === null
      ? []
      : [{ label, value: formatWithInterval(quantity, { sign }) }];
  return {
    notes: [settles, ...(sweep.notes ?? []).map(spellUnits)],
    facts: [
      ...fact("Best common position", sweep.bestPosition),
      ...fact("Tilt across the diagonal", sweep.tiltAcross),
      ...fact("Rises towards, counter-clockwise from the right", sweep.tiltDirection, true),
      ...fact("Curvature c", sweep.curvature, true),
      ...fact("Astigmatism A", sweep.astigmatism, true),
      ...fact("Width of a star in focus", sweep.focusedWidth),
      ...fact("Steepness over that of the focal ratio on record", sweep.steepness),
      ...fact("Parts of the field off this surface, RMS", sweep.mesh?.residual),
      ...fact("Lag of the focuser", sweep.lag),
    ],
    table: {
      id: `tbl-sweep-${test.id}`,
      number: 0,
      remarks: [],
      caption: `Best focus by zone from the focus sweep, ${formatDate(test.date)}: height over the centre’s, towards the telescope positive`,
      note: `${sweep.frames?.length ?? 0} positions took part.`,
      columns: [
        makeColumn("Zone"),
        makeColumn("Best focus", true),
        makeColumn("Along the radius", true),
        makeColumn("Across it", true),
      ],
      rows: zones.map((zone) => [
        makeTextCell(zoneWords[zone]),
        makeQuantityCell(sweep.zones[zone].best, { sign: true }),
        makeQuantityCell(sweep.zones[zone].alongRadius, { sign: true }),
        makeQuantityCell(sweep.zones[zone].acrossRadius, { sign: true }),
      ]),
      csv: {
        columns: [
          { key: "zone", heading: "Zone" },
          ...listQuantityKeys("best", "um"),
          ...listQuantityKeys("along", "um"),
          ...listQuantityKeys("across", "um"),
        ],
        rows: zones.map((zone) => [
          zone,
          ...listQuantityCells(sweep.zones[zone].best),
          ...listQuantityCells(sweep.zones[zone].alongRadius),
          ...listQuantityCells(sweep.zones[zone].acrossRadius),
        ]),
      },
    },
  };
}
