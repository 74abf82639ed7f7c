import type { Length, TestResults, Zone } from "../report/results.ts";
import { formatDate } from "./format-number.ts";
import type { PageCell, PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";
import { ZONE_WORDS } from "./zone-words.ts";

type Zones = NonNullable<TestResults["zones"]>;

const zoneOrder = Object.keys(ZONE_WORDS) as Zone[];
const units = ["px", "um", "arcsec"] as const;
const unitHeadings = { px: "px", um: "µm", arcsec: "arcsec" };

const lengthKeys = ["fwhm", "fwhmMajor", "fwhmMinor", "hfd"] as const;
const lengthWords: Record<(typeof lengthKeys)[number], string> = {
  fwhm: "FWHM",
  fwhmMajor: "FWHM along",
  fwhmMinor: "FWHM across",
  hfd: "Half-flux diameter",
};

function listUnitCells(length: Length): PageCell[] {
  return units.map((unit) => makeQuantityCell(length[unit], { unit: false }));
}

/** Every zone value with its interval, one row a zone, for the CSV beside both tables. */
function makeZoneData(zones: Zones): PageTable["csv"] {
  const columns = [
    { key: "zone", heading: "Zone" },
    { key: "stars", heading: "Stars" },
    ...lengthKeys.flatMap((key) => units.flatMap((unit) => listQuantityKeys(key, unit))),
    ...listQuantityKeys("sampledFwhm", "px"),
    ...listQuantityKeys("ellipticity", "ratio"),
    ...listQuantityKeys("radial", "ratio"),
    ...listQuantityKeys("angle", "deg"),
  ];
  const rows = zoneOrder.map((name) => {
    const zone = zones[name];
    return [
      name,
      zone.stars,
      ...lengthKeys.flatMap((key) => units.flatMap((unit) => listQuantityCells(zone[key][unit]))),
      ...[zone.sampledFwhm, zone.ellipticity, zone.radial, zone.angle].flatMap(listQuantityCells),
    ];
  });
  return { columns, rows };
}

/** The zone table: median width in three units and the shape, each with its 95 % interval. */
export function makeZoneTable(test: TestResults, zones: Zones, channel: string, id: string): PageTable {
  return {
    id,
    number: 0,
    remarks: [],
    caption: `Star width and shape by zone of the field, ${formatDate(test.date)}, channel ${channel}: medians with 95 % intervals`,
    note: "Widths are those of the light on the sensor, the pixel’s own width taken out. Radial elongation is positive where the long axis points away from the centre. The long axis is measured counter-clockwise from the right.",
    columns: [
      makeColumn("Zone"),
      makeColumn("Stars", true),
      ...units.map((unit) => makeColumn(`FWHM, ${unitHeadings[unit]}`, true, unit)),
      makeColumn("Ellipticity", true),
      makeColumn("Radial elongation", true),
      makeColumn("Long axis", true),
    ],
    rows: zoneOrder.map((name) => {
      const zone = zones[name];
      return [
        makeTextCell(ZONE_WORDS[name]),
        makeTextCell(zone.stars),
        ...listUnitCells(zone.fwhm),
        makeQuantityCell(zone.ellipticity),
        makeQuantityCell(zone.radial, { sign: true }),
        makeQuantityCell(zone.angle),
      ];
    }),
    csv: makeZoneData(zones),
  };
}

/** The further widths of each zone: along and across the long axis, half-flux diameter, and as the pixels show it. */
export function makeWidthTable(test: TestResults, zones: Zones, channel: string, id: string): PageTable {
  const further = lengthKeys.slice(1);
  return {
    id,
    number: 0,
    remarks: [],
    caption: `Further widths by zone, ${formatDate(test.date)}, channel ${channel}: medians with 95 % intervals`,
    note: "Along and across mean along and across each star’s own long axis. “As sampled” is the width in the frame, with the pixel’s own width in it.",
    columns: [
      makeColumn("Zone"),
      ...further.flatMap((key) =>
        units.map((unit) => makeColumn(`${lengthWords[key]}, ${unitHeadings[unit]}`, true, unit)),
      ),
      makeColumn("FWHM as sampled, px", true),
    ],
    rows: zoneOrder.map((name) => [
      makeTextCell(ZONE_WORDS[name]),
      ...further.flatMap((key) => listUnitCells(zones[name][key])),
      makeQuantityCell(zones[name].sampledFwhm, { unit: false }),
    ]),
    csv: makeZoneData(zones),
  };
}
