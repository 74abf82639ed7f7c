import { describe, expect, it } from "vitest";
import { z } from "zod";
import { listKeys, PART_KINDS, type PartKind, RECORD_KEYS } from "../../lib/records/describe-keys.ts";
import { describeAllowed } from "../../lib/records/key-meaning.ts";
import { PART_SCHEMAS } from "../../lib/records/part-schemas.ts";
import { comparisonSchema, siteSchema } from "../../lib/records/site-schema.ts";
import { testSchema } from "../../lib/records/test-schema.ts";
import { trainSchema } from "../../lib/records/train-schema.ts";

type Json = { properties?: Record<string, Json>; items?: Json; anyOf?: Json[] };

/** Key paths of a JSON Schema, "[]" for items of a list. */
function listPaths(schema: Json, path = ""): string[] {
  const inner = Object.entries(schema.properties ?? {}).flatMap(([key, value]) => {
    const name = path === "" ? key : `${path}.${key}`;
    return [name, ...listPaths(value, name)];
  });
  const items = schema.items === undefined ? [] : [`${path}[]`, ...listPaths(schema.items, `${path}[]`)];
  return [...inner, ...items, ...(schema.anyOf ?? []).flatMap((branch) => listPaths(branch, path))];
}

const pathsOf = (schema: z.ZodType) =>
  [...new Set(listPaths(z.toJSONSchema(schema, { io: "input", target: "draft-7" }) as Json))].sort();

describe("the table of key meanings", () => {
  it.each([
    ["train", trainSchema],
    ["test", testSchema],
    ["site", siteSchema],
    ["comparison", comparisonSchema],
  ] as const)("has every key of the schema of %s, and no other", (kind, schema) => {
    expect(Object.keys(RECORD_KEYS[kind]).sort()).toEqual(pathsOf(schema));
  });

  it.each(Object.keys(PART_KINDS) as PartKind[])(
    "has every key of the schema of %s, and no other",
    (kind) => {
      expect(Object.keys(PART_KINDS[kind]).sort()).toEqual(pathsOf(PART_SCHEMAS[kind]));
    },
  );

  const all = Object.entries(RECORD_KEYS).flatMap(([kind, keys]) =>
    Object.entries(keys).map(([key, meaning]) => ({ name: `${kind} ${key}`, key, meaning })),
  );

  it("gives every number an example within its range, and the unit that the key ends with", () => {
    const endings = {
      mm: "Mm",
      um: "Um",
      nm: "Nm",
      px: "Px",
      deg: "Deg",
      percent: "Percent",
      "e-": "Electrons",
    };
    for (const { name, key, meaning } of all) {
      if (meaning.range === undefined) continue;
      const [lowest, highest] = meaning.range;
      const example = Number(meaning.example);
      expect(example >= lowest && example <= highest, name).toBe(true);
      const ending = endings[meaning.unit as keyof typeof endings];
      const word = key.replace(/\[\]$/, "").split(".").at(-1) ?? "";
      // umPerStep says its unit in front.
      if (ending !== undefined && word.length > 1 && word !== "umPerStep")
        expect(word.endsWith(ending), name).toBe(true);
    }
  });

  it("says what is allowed in at most 200 characters, so that a message shows it whole", () => {
    const long = all.filter(
      ({ meaning }) => describeAllowed(meaning).length > 200 || meaning.example.length > 150,
    );
    expect(long.map(({ name }) => name)).toEqual([]);
  });

  it("lists the keys of a record for the README, saying of each whether it is needed", () => {
    const pitch = listKeys("train").find(({ key }) => key === "camera.pixelPitchUm");
    expect(pitch).toEqual({
      key: "camera.pixelPitchUm",
      meaning: "Distance from one pixel to the next, unbinned.",
      allowed: "a number from 0.5 to 50 um",
      leftOut: "needed",
      example: "3.76",
    });
  });
});
