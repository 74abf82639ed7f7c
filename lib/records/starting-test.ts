import { explainInner, type StartingKey, writeKey } from "./starting-lines.ts";
import { writeHead } from "./starting-train.ts";
import { TEST_KEYS } from "./test-keys.ts";

const head = [
  "One night's test of the train in one state. After a change (another spacer, a turned camera) make another test: npm run new -- test TRAIN DATE, with -b behind the date for a second one in the same night.",
  "",
  'What stands before REPLACE is invented: put your own in its place and take the word away. A line that begins with "# " explains. A line that begins with "#" and no space is switched off: take the "#" away to use it.',
  "At least one of frames, flats, sweep, starTable and edge must be there; everything else may be left out.",
];

const blocks: StartingKey[][] = [
  [{ key: "frames", invented: true }],
  [{ key: "spacersMm", off: true }],
  [{ key: "flats", off: true }],
  [{ key: "bias", off: true }],
  [
    {
      key: "filter",
      value: "",
      off: true,
      below: ["  name: clear", "  glass: { thicknessMm: 2.0, index: 1.517 }", "  wavelengthNm: 550"],
    },
  ],
  [{ key: "cameraAngleDeg", off: true }],
  [{ key: "altitudeDeg", off: true }],
  [{ key: "zenithAngleDeg", off: true }],
  [{ key: "focusOffsetUm", off: true }],
  [
    {
      key: "sweep",
      value: "",
      off: true,
      below: ["  frames: [frames/sweep-*.fits]", "  positions: header:FOCUSPOS", "  umPerStep: 1.2"],
    },
  ],
  [
    {
      key: "starTable",
      value: "",
      off: true,
      below: [
        "  file: stars.csv",
        "  columns: { x: X, y: Y, fwhmMajor: W1, fwhmMinor: W2, angle: PA }",
        "  units: { x: px, y: px, fwhmMajor: px, fwhmMinor: px, angle: deg }",
      ],
    },
  ],
  [{ key: "edge", value: "", off: true, below: ["  frames: [frames/moon-*.fits]"] }],
  [{ key: "guiding", off: true }],
  [{ key: "wind", off: true }],
  [
    {
      key: "conditions",
      value: "",
      off: true,
      below: ["  target: Lyra field", "  moon: full", "  temperatureC: 4", "  seeingNote: steady"],
    },
  ],
  [{ key: "notes", value: "|", off: true, below: ["  The dew heater failed after midnight."] }],
];

const innerKeys: Record<string, readonly string[]> = {
  filter: ["filter.name", "filter.glass", "filter.wavelengthNm"],
  sweep: ["sweep.frames", "sweep.positions", "sweep.umPerStep"],
  starTable: ["starTable.file", "starTable.columns", "starTable.units"],
  edge: ["edge.frames"],
  guiding: ["guiding.file"],
  wind: ["wind.file"],
};

function writeBlock(keys: readonly StartingKey[]): string[] {
  const inner = (innerKeys[keys[0].key] ?? []).flatMap((key) =>
    explainInner(key.slice(key.lastIndexOf(".") + 1), TEST_KEYS[key]),
  );
  const lines = keys.flatMap((key) => writeKey(TEST_KEYS, key));
  const own = lines.findIndex((line) => !line.startsWith("# "));
  return [...lines.slice(0, own), ...inner, ...lines.slice(own)];
}

/** The text of a starting test.yaml for the evening `date` (year-month-day). It reads without a fault as it stands. */
export function makeStartingTest(date: string, schema: string): string {
  const sections = [writeKey(TEST_KEYS, { key: "date", value: date }), ...blocks.map(writeBlock)];
  return `${[...writeHead(schema, head), sections.map((lines) => lines.join("\n")).join("\n\n")].join("\n")}\n`;
}
