import { describe, expect, it } from "vitest";
import type { ColourMeasurement } from "../../lib/colour/colour-measurement.ts";
import { storedColour, storedEdge } from "../../lib/colour/decode-colour.ts";
import type { EdgeMeasurement } from "../../lib/colour/edge-measurement.ts";
import { storedFlats } from "../../lib/light/flats-digits.ts";
import { decodeMeasurement } from "../../lib/measured/decode-measurement.ts";
import { encodeMeasurement } from "../../lib/measured/encode-measurement.ts";
import { MEASUREMENT_FORMAT, type TestMeasurement } from "../../lib/measured/test-measurement.ts";

const colour: ColourMeasurement = {
  key: "ab".repeat(16),
  halos: [
    {
      edgesPx: [3, 4, 6],
      xPx: [100.5, 2000.1],
      yPx: [50, 900.2],
      channels: {
        R: [
          [0.02, 0.01],
          [0.03, 0.01],
        ],
        G: [
          [0.02, 0.011],
          [0.025, 0.012],
        ],
      },
    },
  ],
  leans: [
    null,
    {
      xPx: [100.52],
      yPx: [50.01],
      channels: {
        R: { dxPx: [0.012], dyPx: [-0.003], errPx: [0.004] },
        G: { dxPx: [0.001], dyPx: [0], errPx: [0.002] },
      },
    },
  ],
  crops: [
    { place: "centre", channel: "R", file: "crops/colour/centre-R.png", xPx: 100, yPx: 50, sidePx: 41 },
  ],
};

const edge: EdgeMeasurement = {
  key: "cd".repeat(16),
  frames: [
    {
      file: "moon-1.fits",
      sha256: "ef".repeat(32),
      widthPx: 980,
      heightPx: 920,
      binning: null,
      cropOriginPx: { x: 2720, y: 1536 },
      circle: { xPx: 480.2, yPx: 455.1, radiusPx: 351.7 },
      stretches: [
        {
          angleDeg: 183.4,
          xPx: 128.9,
          yPx: 434.6,
          channels: { G: { positionPx: 0.02, spreadPx: 1.9, fwhmPx: 1.6, mtf50: 0.31 } },
        },
      ],
      warnings: ["The limb is saturated in places."],
    },
  ],
};

const settings = { cfa: null, gainElectronsPerAdu: null, readNoiseElectrons: null, saturationAdu: null };
const whole: TestMeasurement = {
  format: MEASUREMENT_FORMAT,
  code: "00ff",
  settings,
  frames: [],
  crops: [],
  colour,
  edge,
};

describe("colour and edge of measured.json", () => {
  it("come back as they were, and are the same bytes when written again", () => {
    const text = encodeMeasurement(whole);
    const read = decodeMeasurement(text);
    expect(read?.colour).toEqual(colour);
    expect(read?.edge).toEqual(edge);
    expect(read === null ? "" : encodeMeasurement(read)).toBe(text);
  });

  it("of a file from before the light's centres were measured are read as one without them", () => {
    const { leans, ...older } = colour;
    expect(leans).toHaveLength(2);
    expect(storedColour.parse(older)).toEqual({ ...older, leans: [] });
  });

  it("are refused where columns are of unequal length, numbers are none, or lists are longer than ours ever get", () => {
    const lean = colour.leans[1]!;
    const refused: unknown[] = [
      { ...colour, leans: [{ ...lean, xPx: [1, 2] }] },
      { ...colour, leans: [{ ...lean, channels: { R: { dxPx: [1, 2], dyPx: [0], errPx: [0] } } }] },
      { ...colour, leans: [{ ...lean, xPx: ["1"] }] },
      { ...colour, leans: [{ xPx: Array(3000).fill(1), yPx: Array(3000).fill(1), channels: {} }] },
      { ...colour, halos: [{ ...colour.halos[0], yPx: [1] }] },
      {
        ...colour,
        halos: [
          {
            ...colour.halos[0],
            channels: {
              R: [
                [Number.NaN, 1],
                [1, 1],
              ],
            },
          },
        ],
      },
      { ...colour, crops: [{ ...colour.crops[0], sidePx: 1e9 }] },
      { ...colour, crops: [{ ...colour.crops[0], place: "__proto__" }] },
      { ...colour, key: "x".repeat(5000) },
      null,
      [],
    ];
    for (const hostile of refused) expect(storedColour.safeParse(hostile).success).toBe(false);
    const [frame] = edge.frames;
    const refusedEdges: unknown[] = [
      { ...edge, frames: [{ ...frame, widthPx: -1 }] },
      { ...edge, frames: [{ ...frame, circle: { xPx: "0", yPx: 0, radiusPx: 1 } }] },
      { ...edge, frames: [{ ...frame, stretches: Array(3000).fill(frame.stretches[0]) }] },
      { ...edge, frames: [{ ...frame, stretches: [{ ...frame.stretches[0], channels: { G: {} } }] }] },
      { ...edge, frames: {} },
    ];
    for (const hostile of refusedEdges) expect(storedEdge.safeParse(hostile).success).toBe(false);
    for (const hostile of [null, {}, { key: 1 }, { channels: [] }, "flats"]) {
      expect(storedFlats.safeParse(hostile).success).toBe(false);
    }
  });
});
