import { Ajv } from "ajv";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { makeJsonSchemas } from "../../lib/records/make-json-schemas.ts";
import { makeStartingSite } from "../../lib/records/starting-site.ts";
import { makeStartingTest } from "../../lib/records/starting-test.ts";
import { makeStartingTrain } from "../../lib/records/starting-train.ts";
import { soundTest, soundTrain } from "./content-folder.ts";

const schemas = makeJsonSchemas();
const validate = Object.fromEntries(
  Object.entries(schemas).map(([kind, schema]) => [kind, new Ajv({ allErrors: true }).compile(schema)]),
);

describe("the JSON Schemas for editors", () => {
  it.each([
    ["train", soundTrain],
    [
      "train",
      "name: x\ntelescope: tarn\ncorrector: { id: r79, factor: 0.8 }\nstack: [m54, { id: m54, lengthMm: 3 }]\ncamera: heron",
    ],
    ["train", makeStartingTrain("A train", "s.json")],
    ["test", soundTest],
    [
      "test",
      "date: 2026-10-03\nfocusOffsetUm: [0, 50]\naltitudeDeg: header:OBJCTALT\nfilter: ha\nflats: [a.fits]",
    ],
    ["test", makeStartingTest("2026-10-03", "s.json")],
    ["site", makeStartingSite("s.json")],
    [
      "parts",
      "cameras: { heron: { name: H, widthPx: 100, heightPx: 100, pixelPitchUm: 10, flangeMm: 17.5 } }",
    ],
    ["comparison", "name: x\na: { train: a }\nb: { train: b, test: 2026-10-03 }"],
  ])("allow a sound %s (%#)", (kind, text) => {
    const isValid = validate[kind](parse(text));
    expect(validate[kind].errors ?? []).toEqual([]);
    expect(isValid).toBe(true);
  });

  it.each([
    ["train", soundTrain.replace("3.76", "3760")],
    ["train", soundTrain.replace("pixelPitchUm", "pixelPitch")],
    ["test", "date: 3.10.2026\nframes: [a.fits]"],
    ["site", "titel: x"],
    ["parts", "cameras: { '../x': {} }"],
    ["comparison", "name: x\na: { train: a }"],
  ])("refuse a faulty %s (%#)", (kind, text) => {
    expect(validate[kind](parse(text))).toBe(false);
  });

  it("tell the meaning, the unit and the range of the pixel pitch where an editor shows them", () => {
    const text = JSON.stringify(schemas.train);
    expect(text).toContain(
      "Distance from one pixel to the next, unbinned. Allowed: a number from 0.5 to 50 um.",
    );
    expect(schemas.train).toMatchObject({ $schema: "http://json-schema.org/draft-07/schema#" });
  });
});
