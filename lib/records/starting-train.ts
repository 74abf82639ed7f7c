import { OBTAINED_WORDS, SAY_WORDS } from "./equipment-keys.ts";
import { GLASS_KEYS, RING_KEYS } from "./part-keys.ts";
import { comment, explainInner, explainKey, type StartingKey, writeKey } from "./starting-lines.ts";
import { TRAIN_KEYS } from "./train-keys.ts";

const head = [
  "One optical train: its parts in order from the telescope to the sensor.",
  "",
  "What stands before REPLACE is invented: put your own in its place and take the word away.",
  'A line that begins with "# " explains. A line that begins with "#" and no space is a part of the record that is switched off: take the "#" away to use it.',
  "Every key ends with its unit: Mm is millimetres, Um micrometres, Px pixels, Deg degrees. Write numbers alone, with a decimal point: 3.76. Steps inwards are two spaces, never a tab.",
  "weightG, pricePaid, thread, included and missing may stand under corrector and camera and with each ring, just as under telescope.",
  "A part that several trains share may be written once, in parts/, and named here by its id: a line  camera: heron-26  then stands for the whole block.",
  "Your own prose for the page goes into review.md beside this file, in Markdown. Tests go under tests/: npm run new -- test TRAIN DATE.",
];

/** The comment that opens a starting record; an empty paragraph leaves a line free. */
export function writeHead(schema: string, paragraphs: readonly string[]): string[] {
  const lines = paragraphs.flatMap((text) => (text === "" ? ["#"] : comment(text)));
  return [`# yaml-language-server: $schema=${schema}`, "#", ...lines, ""];
}

const blocks: StartingKey[][] = [
  [
    { key: "telescope", value: "" },
    { key: "telescope.name", invented: true },
    { key: "telescope.apertureMm", invented: true },
    { key: "telescope.focalLengthMm", invented: true },
    { key: "telescope.obstructionMm", invented: true },
    { key: "telescope.weightG", off: true },
    { key: "telescope.bodyLengthMm", off: true },
    { key: "telescope.pricePaid", off: true },
    { key: "telescope.included", off: true },
    { key: "telescope.missing", off: true },
    { key: "telescope.focuser", off: true },
  ],
  [
    { key: "corrector", value: "" },
    { key: "corrector.name", invented: true },
    { key: "corrector.kind", invented: true },
    { key: "corrector.factor", invented: true },
    { key: "corrector.backFocusMm", invented: true },
    { key: "corrector.radialMeans" },
    { key: "corrector.exitPupilMm", off: true },
  ],
  [
    { key: "camera", value: "" },
    { key: "camera.name", invented: true },
    { key: "camera.widthPx", invented: true },
    { key: "camera.heightPx", invented: true },
    { key: "camera.pixelPitchUm", invented: true },
    { key: "camera.flangeMm", invented: true },
    { key: "camera.windowGlass", off: true },
    { key: "camera.cfa", invented: true },
    { key: "camera.coloursNm", off: true },
    { key: "camera.gainElectronsPerAdu", off: true },
    { key: "camera.readNoiseElectrons", off: true },
    { key: "camera.saturationAdu", off: true },
    { key: "camera.biasAdu", off: true },
  ],
  [{ key: "spacersOwnedMm", invented: true }],
  [
    {
      key: "disclosure",
      value: "",
      off: true,
      below: [
        "  obtained: bought",
        "  from: a shop, at the shelf price",
        "  goesBack: false",
        "  copies: 1",
        "  say: nobody",
        "  readBy: [two members of the club]",
        "  ties: None.",
      ],
    },
  ],
  [
    {
      key: "equipment",
      value: "",
      off: true,
      below: ["  - { item: mount, name: Fellside oak pier, weightG: 31000 }", "  - { item: dew heater }"],
    },
  ],
  [
    {
      key: "adjuster",
      value: "",
      off: true,
      below: [
        "  screws:",
        "    - { angleDeg: 90, radiusMm: 35 }",
        "    - { angleDeg: 210, radiusMm: 35 }",
        "    - { angleDeg: 330, radiusMm: 35 }",
        "  pitchMm: 0.5",
      ],
    },
  ],
  [
    {
      key: "tolerances",
      value: "",
      off: true,
      below: [
        "  cornerFwhmOverCentre: 1.25",
        "  cornerEllipticity: 0.2",
        "  cornerLightPercent: 60",
        "  tiltAcrossUm: 40",
        "  spacingErrorMm: 0.2",
      ],
    },
  ],
];

const afterHead: Record<string, string> = {
  disclosure: `obtained is one of ${OBTAINED_WORDS.join(", ")}; say is one of ${SAY_WORDS.join(", ")}.`,
  corrector: "No reducer, flattener or extender? Take the block away, down to the stack.",
  adjuster:
    "angleDeg is counted counter-clockwise from the right of the displayed frame; pitchMm is what a full turn moves.",
  tolerances:
    "cornerFwhmOverCentre is a multiple of the width at the centre, cornerEllipticity 1 minus short over long axis.",
};

/** The stack is a list of short mappings: its keys are explained once, above it. */
function writeStack(): string[] {
  const words = ["part", "lengthMm", "clearDiameterMm", "glass", "offsetMm"] as const;
  const named = words.flatMap((word) => explainInner(word, RING_KEYS[word]));
  return [
    ...explainKey(TRAIN_KEYS.stack, ""),
    ...named,
    ...explainInner("glass.thicknessMm", GLASS_KEYS.thicknessMm),
    ...explainInner("glass.index", GLASS_KEYS.index),
    ...explainInner("spacersMm", TRAIN_KEYS["stack[].spacersMm"]),
    "stack:",
    "  - { part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }  # REPLACE",
    "  - { spacersMm: [1.0], clearDiameterMm: 50.5 }  # REPLACE",
    "  - part: filter drawer  # REPLACE",
    "    lengthMm: 20.0  # REPLACE",
    "    clearDiameterMm: 45  # REPLACE",
    "    glass: { thicknessMm: 2.0, index: 1.517 }  # REPLACE",
    "    #offsetMm: { x: 0.0, y: 0.0 }",
  ];
}

/**
 * The text of a starting train.yaml. `name` is the train's name as the page shall show it; `schema` the path of its
 * JSON Schema. It reads without a fault as it stands.
 */
export function makeStartingTrain(name: string, schema: string): string {
  const written = blocks.map((keys) => {
    const lines = keys.flatMap((key) => writeKey(TRAIN_KEYS, key));
    const note = afterHead[keys[0].key];
    if (note === undefined) return lines;
    const own = lines.findIndex((line) => !line.startsWith("# "));
    return [...lines.slice(0, own), ...comment(note), ...lines.slice(own)];
  });
  const [telescope, corrector, ...rest] = written;
  const title = writeKey(TRAIN_KEYS, { key: "name", value: JSON.stringify(name) });
  const sections = [title, telescope, corrector, writeStack(), ...rest];
  return `${[...writeHead(schema, head), sections.map((lines) => lines.join("\n")).join("\n\n")].join("\n")}\n`;
}
