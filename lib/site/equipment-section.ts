import type { EquipmentFacts, Focuser, PricePaid, TrainRecord } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import { readTrainRecord } from "./describe-train.ts";
import { formatNumber, formatPlain } from "./format-number.ts";
import { makeColumn, makeTextCell, type PageCell, type PageTable } from "./page-table.ts";

/** What the train is made of as a buyer would ask; null where nothing of it is on record. */
export interface PageEquipment {
  table: PageTable;
  /** What the focuser does; empty where nothing is stated. */
  focuser: { label: string; value: string }[];
}

interface Row extends EquipmentFacts {
  use: string;
  name: string;
  lengthMm?: number | undefined;
  note?: string | undefined;
}

const kilogram = 1000;

/** "340 g", "6.2 kg": grams below one kilogram. */
export function formatWeight(grams: number): string {
  return grams < kilogram ? `${formatPlain(grams)}\u00a0g` : `${formatPlain(grams / kilogram)}\u00a0kg`;
}

/** "1290 EUR (2026)"; cents only where there are some. */
export function formatPrice({ amount, currency, year }: PricePaid): string {
  const digits = Number.isInteger(amount) ? 0 : 2;
  return `${formatNumber(amount, digits)}\u00a0${currency}${year === undefined ? "" : ` (${year})`}`;
}

function listRows(train: TrainRecord): Row[] {
  const { telescope, corrector, stack, camera, equipment } = train;
  return [
    { ...telescope, use: "telescope", lengthMm: telescope.bodyLengthMm },
    ...(corrector === null ? [] : [{ ...corrector, use: corrector.kind, lengthMm: corrector.bodyLengthMm }]),
    ...stack.flatMap((item) => ("part" in item ? [{ ...item, use: "ring", name: item.part }] : [])),
    { ...camera, use: "camera", lengthMm: camera.bodyLengthMm },
    ...(equipment ?? []).map((item) => ({ ...item, use: item.item, name: item.name ?? item.item })),
  ];
}

/** Columns that a row may fill; one that no row fills is left out. */
const columns: {
  heading: string;
  number: boolean;
  key: string;
  text: (row: Row) => string | null;
  data: (row: Row) => string | number | null;
}[] = [
  {
    heading: "Weight",
    number: true,
    key: "weight_g",
    text: ({ weightG }) => (weightG === undefined ? null : formatWeight(weightG)),
    data: ({ weightG }) => weightG ?? null,
  },
  {
    heading: "Adds to the length",
    number: true,
    key: "length_mm",
    text: ({ lengthMm }) => (lengthMm === undefined ? null : `${formatPlain(lengthMm)}\u00a0mm`),
    data: ({ lengthMm }) => lengthMm ?? null,
  },
  {
    heading: "Price paid",
    number: true,
    key: "price_paid",
    text: ({ pricePaid }) => (pricePaid === undefined ? null : formatPrice(pricePaid)),
    data: ({ pricePaid }) => (pricePaid === undefined ? null : `${pricePaid.amount} ${pricePaid.currency}`),
  },
  {
    heading: "Thread to the camera",
    number: false,
    key: "thread",
    text: ({ thread }) => thread ?? null,
    data: ({ thread }) => thread ?? null,
  },
  {
    heading: "Came with it",
    number: false,
    key: "included",
    text: ({ included }) => joinList(included),
    data: ({ included }) => included?.join("; ") ?? null,
  },
  {
    heading: "Needed and missing",
    number: false,
    key: "missing",
    text: ({ missing }) => joinList(missing),
    data: ({ missing }) => missing?.join("; ") ?? null,
  },
  {
    heading: "Remark",
    number: false,
    key: "remark",
    text: ({ note }) => note ?? null,
    data: ({ note }) => note ?? null,
  },
];

function joinList(texts: readonly string[] | undefined): string | null {
  if (texts === undefined) return null;
  return texts.length === 0 ? "nothing" : texts.join(", ");
}

type PartSum = NonNullable<TrainResults["equipment"]>["weightG"];

/** "at least 7.1 kg" where not every part states its share. */
function sayAtLeast(sum: PartSum, write: (value: number) => string): string {
  if (sum.value !== null) return write(sum.value);
  return sum.stated > 0 ? `at least ${write(sum.stated)}` : "not stated";
}

function makeTotal(results: TrainResults, shown: typeof columns): PageCell[] | null {
  const sums = results.equipment;
  if (sums === undefined) return null;
  const texts: Record<string, string> = {
    weight_g: sayAtLeast(sums.weightG, formatWeight),
    length_mm: sayAtLeast(sums.lengthMm, (mm) => `${formatPlain(mm)}\u00a0mm`),
    price_paid: sums.prices
      .map(({ currency, sum }) => sayAtLeast(sum, (amount) => formatPrice({ amount, currency })))
      .join(", "),
  };
  return [
    makeTextCell("Optics, rings and camera together"),
    ...shown.map(({ key }) => makeTextCell(texts[key] ?? "")),
  ];
}

function listFocuserFacts(focuser: Focuser | undefined): PageEquipment["focuser"] {
  if (focuser === undefined) return [];
  const { travelMm, clearDiameterMm, fineRatio, loadG, rotator } = focuser;
  const facts: [string, string | null][] = [
    ["Focuser travel", travelMm === undefined ? null : `${formatPlain(travelMm)}\u00a0mm`],
    [
      "Free opening of the drawtube",
      clearDiameterMm === undefined ? null : `${formatPlain(clearDiameterMm)}\u00a0mm`,
    ],
    ["Fine motion", fineRatio === undefined ? null : `1 : ${formatPlain(fineRatio)}`],
    ["Load it holds", loadG === undefined ? null : formatWeight(loadG)],
    ["Camera turns without a tool", rotator === undefined ? null : rotator ? "yes" : "no"],
  ];
  return facts.flatMap(([label, value]) => (value === null ? [] : [{ label, value }]));
}

/** The equipment table and the focuser's facts, from the record alone. */
export function makeEquipmentSection(results: TrainResults): PageEquipment | null {
  const train = readTrainRecord(results);
  const rows = listRows(train);
  const shown = columns.filter((column) => rows.some((row) => column.text(row) !== null));
  const focuser = listFocuserFacts(train.telescope.focuser);
  const isStated = rows.some(({ weightG, pricePaid, thread, included, missing }) =>
    [weightG, pricePaid, thread, included, missing].some((value) => value !== undefined),
  );
  if (!isStated && focuser.length === 0 && (train.equipment ?? []).length === 0) return null;
  const total = makeTotal(results, shown);
  return {
    focuser,
    table: {
      id: "tbl-equipment",
      number: 0,
      remarks: [],
      caption: "The equipment as it was tested: what each part is, weighs and cost, as on record",
      note: "A dash: not on record. “Together” counts the optics, the rings and the camera. The spacers are left out of the weight.",
      columns: [
        makeColumn("Part"),
        makeColumn("What it is"),
        ...shown.map(({ heading, number }) => makeColumn(heading, number)),
      ],
      rows: [
        ...rows.map((row) => [
          makeTextCell(row.name),
          makeTextCell(row.use),
          ...shown.map((column) => makeTextCell(column.text(row) ?? "–")),
        ]),
        ...(total === null ? [] : [[total[0], makeTextCell(""), ...total.slice(1)]]),
      ],
      csv: {
        columns: [
          { key: "part", heading: "Part" },
          { key: "use", heading: "What it is" },
          ...shown.map(({ key, heading }) => ({ key, heading })),
        ],
        rows: rows.map((row) => [row.name, row.use, ...shown.map((column) => column.data(row))]),
      },
    },
  };
}
