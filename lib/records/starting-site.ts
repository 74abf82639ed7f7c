import { SITE_KEYS } from "./site-keys.ts";
import { writeKey } from "./starting-lines.ts";
import { writeHead } from "./starting-train.ts";

const head = [
  "What holds for the whole site.",
  "",
  'What stands before REPLACE is invented: put your own in its place. A line that begins with "#" and no space is switched off: take the "#" away to use it.',
];

/** The text of a starting site.yaml. It reads without a fault as it stands. */
export function makeStartingSite(schema: string): string {
  const sections = [
    writeKey(SITE_KEYS, { key: "title", invented: true }),
    writeKey(SITE_KEYS, { key: "author", invented: true }),
    writeKey(SITE_KEYS, { key: "club", off: true }),
    writeKey(SITE_KEYS, { key: "baseUrl", off: true }),
    writeKey(SITE_KEYS, { key: "language" }),
    writeKey(SITE_KEYS, {
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
    }),
  ];
  return `${[...writeHead(schema, head), sections.map((lines) => lines.join("\n")).join("\n\n")].join("\n")}\n`;
}
