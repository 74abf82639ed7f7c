import { showsLight } from "../draw/light-words.ts";
import type { Quantity } from "../maths/quantity.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import { formatDate, formatPlain, formatWithInterval } from "./format-number.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageTable,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";

/** What the page says of the light of one test. */
export interface PageLight {
  sentences: string[];
  facts: { label: string; value: string }[];
  tables: PageTable[];
  notes: string[];
}

type Agreement = NonNullable<TrainResults["flatAgreement"]>[number];
type Light = NonNullable<TestResults["illumination"]>[string];
type Rings = NonNullable<TestResults["rings"]>;

const emptyTable = { number: 0, remarks: [], note: null };

/**
 * Light of a test; null where neither flats nor clear diameters say anything, and for a test without flats where another
 * has them: what the rings leave changes little from night to night.
 */
export function makeLightSection(results: TrainResults, test: TestResults): PageLight | null {
  const { illumination, rings, lightCause } = test;
  if (!showsLight(results, results.tests.indexOf(test))) return null;
  const agreements = results.flatAgreement ?? [];
  const channels = Object.entries(illumination ?? {});
  const main = illumination?.[lightCause?.channel ?? ""] ?? null;
  return {
    sentences: [
      ...(lightCause === null || lightCause === undefined ? [] : [lightCause.sentence]),
      ...(illumination === null && rings !== null ? [sayForetold(rings)] : []),
      ...sayRingFit(lightCause),
      ...(main === null ? [] : sayFlatness(main.centre)),
      ...agreements.filter(({ b }) => b === test.id).map(sayAgreement),
    ].map(spellUnits),
    facts: main === null ? [] : listLightFacts(main),
    tables: [
      ...(channels.length === 0 ? [] : [makeLightTable(test, channels)]),
      ...(rings === null ? [] : [makeRingTable(test, rings), makeSizeTable(test, rings)]),
    ],
    notes: rings === null ? [] : [spellUnits(rings.assumption)],
  };
}

function sayForetold(rings: Rings): string {
  const leaves = `By the record the rings together leave ${formatWithInterval(rings.together)} of the light in the corners`;
  return rings.limitingRing === null
    ? `${leaves}: no ring takes more than 1 %. There are no flats of this test to hold it against.`
    : `${leaves}, and the ${rings.limitingRing} limits. There are no flats of this test to hold it against.`;
}

function sayRingFit(cause: TestResults["lightCause"]): string[] {
  const ring = cause?.ring;
  if (ring === null || ring === undefined || ring.clearDiameter.value === null) return [];
  return [
    `By its shape the fall-off is best explained by the edge of the ${ring.part} with ${formatWithInterval(ring.clearDiameter)} clear; the record says ${formatPlain(ring.recordedMm)} mm.`,
  ];
}

/** The place of the brightest point is asked for to half a millimetre; nearly flat light does not have it so sharp. */
const sharpPlaceMm = 0.5;

/** A sentence where the light about its brightest point is too flat for a place: what noise leaves of it. */
export function sayFlatness({ x, y }: Light["centre"]): string[] {
  if (x.value === null || y.value === null) return [];
  const [alongX, alongY] = [(x.hi - x.lo) / 2, (y.hi - y.lo) / 2];
  if (Math.max(alongX, alongY) <= sharpPlaceMm) return [];
  return [
    `The light is so flat about its brightest point that the point’s place is known only to ${alongX.toFixed(1)} mm along x and ${alongY.toFixed(1)} mm along y.`,
  ];
}

function sayAgreement(agreement: Agreement): string {
  const of = agreement.channel === "L" ? "" : ` in ${agreement.channel}`;
  return `Against the flats of ${formatDate(agreement.a)}${of} the light differs by ${formatWithInterval(agreement.rms)} rms over the sensor, at most ${formatWithInterval(agreement.largest)}, and in the corners by ${formatWithInterval(agreement.corners, { sign: true })}.`;
}

function listLightFacts(light: Light): { label: string; value: string }[] {
  const fact = (label: string, quantity: Quantity, sign = false) =>
    quantity.value === null ? [] : [{ label, value: formatWithInterval(quantity, { sign }) }];
  const recorded = (value: number | null) => (value === null ? "" : `, on record ${formatPlain(value)}`);
  const camera = (label: string, quantity: Quantity, record: number | null) =>
    fact(label, quantity).map(({ value }) => ({ label, value: `${value}${recorded(record)}` }));
  const dust =
    light.dust.spots === 0
      ? "none found"
      : `${light.dust.spots} shadows, ${light.dust.percent.toFixed(1)}\u00a0% of the frame left out`;
  return [
    ...fact("Corners, mean", light.cornerMean),
    ...fact("Signal to noise lost in the corners", light.noiseCost),
    ...fact("Exposure the corners need, times", light.exposureFactor),
    ...fact("Middle of the symmetric part, x", light.symmetry.x, true),
    ...fact("Middle of the symmetric part, y", light.symmetry.y, true),
    ...fact("Level of the flats, of saturation", light.level),
    { label: "Dust", value: dust },
    ...camera("Gain", light.gain, light.recordedGain),
    ...camera("Read noise", light.readNoise, light.recordedReadNoise),
  ];
}

const cornerColumns = [
  ["upperLeft", "Upper left"],
  ["upperRight", "Upper right"],
  ["lowerLeft", "Lower left"],
  ["lowerRight", "Lower right"],
] as const;

function listLightCells(light: Light): [string, string, Quantity, boolean][] {
  return [
    ...cornerColumns.map(([corner, heading]): [string, string, Quantity, boolean] => [
      corner,
      heading,
      light.corners[corner],
      false,
    ]),
    ["falloff", "Fall-off", light.falloff, false],
    ["brightest_x", "Brightest, x", light.centre.x, true],
    ["brightest_y", "Brightest, y", light.centre.y, true],
    ["gradient", "Gradient", light.gradient.size, false],
    ["gradient_angle", "towards", light.gradient.angle, false],
    ["fully_lit", "Lit to 99 %, radius", light.fullyLitRadius, false],
  ];
}

function makeLightTable(test: TestResults, channels: readonly [string, Light][]): PageTable {
  const first = listLightCells(channels[0][1]);
  return {
    ...emptyTable,
    id: `tbl-light-${test.id}`,
    caption: `Light in the corners by the flats, ${formatDate(test.date)}: percent of the brightest point`,
    note: "Corners are the smooth map at the very corner; the fall-off is the mean of the four. The gradient goes across the whole diagonal, apart from the part that is symmetric.",
    columns: [makeColumn("Channel"), ...first.map(([, heading]) => makeColumn(heading, true))],
    rows: channels.map(([channel, light]) => [
      makeTextCell(channel),
      ...listLightCells(light).map(([, , quantity, sign]) => makeQuantityCell(quantity, { sign })),
    ]),
    csv: {
      columns: [
        { key: "channel", heading: "Channel" },
        ...first.flatMap(([key, , quantity]) => listQuantityKeys(key, quantity.unit)),
      ],
      rows: channels.map(([channel, light]) => [
        channel,
        ...listLightCells(light).flatMap(([, , quantity]) => listQuantityCells(quantity)),
      ]),
    },
  };
}

function makeRingTable(test: TestResults, rings: Rings): PageTable {
  const asked = `Smallest for ${rings.asked.percent} %`;
  return {
    ...emptyTable,
    id: `tbl-rings-${test.id}`,
    caption: `What each ring alone leaves of the light in the corners, ${formatDate(test.date)}, by the record`,
    note: `${asked}: the clear diameter that keeps ${rings.asked.percent} % with the other parts as they are${rings.asked.from === "chosen" ? ", half a stop below full light, as no tolerance is on record" : ", the tolerance on record"}.`,
    columns: [
      makeColumn("Part"),
      makeColumn("Clear diameter, mm", true),
      makeColumn("Far end from the sensor, mm", true),
      makeColumn("Leaves alone", true),
      makeColumn(asked, true),
    ],
    rows: [
      ...rings.list.map((ring) => [
        makeTextCell(ring.part === rings.limitingRing ? `${ring.part} (limits)` : ring.part),
        makeTextCell(formatPlain(ring.clearDiameterMm)),
        makeTextCell(formatPlain(ring.fromSensorMm)),
        makeQuantityCell(ring.corner),
        makeQuantityCell(ring.smallest),
      ]),
      [
        makeTextCell("All together"),
        makeTextCell(""),
        makeTextCell(""),
        makeQuantityCell(rings.together),
        makeTextCell(""),
      ],
    ],
    csv: {
      columns: [
        { key: "part", heading: "Part" },
        { key: "clear_diameter_mm", heading: "Clear diameter, mm" },
        { key: "from_sensor_mm", heading: "Far end from the sensor, mm" },
        ...listQuantityKeys("corner", "percent"),
        ...listQuantityKeys("smallest", "mm"),
      ],
      rows: [
        ...rings.list.map((ring) => [
          ring.part,
          ring.clearDiameterMm,
          ring.fromSensorMm,
          ...listQuantityCells(ring.corner),
          ...listQuantityCells(ring.smallest),
        ]),
        ["all together", null, null, ...listQuantityCells(rings.together), null, null, null, null],
      ],
    },
  };
}

function makeSizeTable(test: TestResults, rings: Rings): PageTable {
  const part = rings.sizes[0]?.part ?? "ring";
  return {
    ...emptyTable,
    id: `tbl-ring-sizes-${test.id}`,
    caption: `What if the ${part} were wider or narrower: light in the corners by its clear diameter`,
    note: "Clear widths of threads and filter cells are usual ones, common practice, no source: a caliper tells what yours has.",
    columns: [
      makeColumn("Size"),
      makeColumn("Clear diameter, mm", true),
      makeColumn("Leaves alone", true),
      makeColumn("All rings leave", true),
    ],
    rows: rings.sizes.map((size) => [
      makeTextCell(size.size),
      makeTextCell(formatPlain(size.clearDiameterMm)),
      makeQuantityCell(size.corner),
      makeQuantityCell(size.together),
    ]),
    csv: {
      columns: [
        { key: "part", heading: "Part" },
        { key: "size", heading: "Size" },
        { key: "clear_diameter_mm", heading: "Clear diameter, mm" },
        ...listQuantityKeys("alone", "percent"),
        ...listQuantityKeys("together", "percent"),
      ],
      rows: rings.sizes.map((size) => [
        size.part,
        size.size,
        size.clearDiameterMm,
        ...listQuantityCells(size.corner),
        ...listQuantityCells(size.together),
      ]),
    },
  };
}
