import { z } from "zod";
import { PART_KINDS, RECORD_KEYS, type RecordKind } from "./describe-keys.ts";
import { describeForEditor, ID_PATTERN } from "./field-schemas.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import { PART_SCHEMAS } from "./part-schemas.ts";
import { comparisonSchema, siteSchema } from "./site-schema.ts";
import { TEST_KEYS } from "./test-keys.ts";
import { testSchema } from "./test-schema.ts";
import { TRAIN_KEYS } from "./train-keys.ts";
import { spacersSchema, trainSchema } from "./train-schema.ts";

/** Records that are files of their own; the head of a review stands in Markdown, where no editor looks for a schema. */
type WrittenKind = Exclude<RecordKind, "review">;

const idText = z.string().regex(ID_PATTERN);

/** A part written out, its id, or its id with keys that go before the part's own. */
function orId(schema: z.ZodObject, meaning: KeyMeaning): z.ZodType {
  const byId = schema.partial().extend({ id: idText });
  return z.union([idText, byId.strict(), schema]).meta({ description: describeForEditor(meaning) });
}

const writtenTrain = trainSchema.extend({
  telescope: orId(PART_SCHEMAS.telescopes, TRAIN_KEYS.telescope),
  corrector: orId(PART_SCHEMAS.correctors, TRAIN_KEYS.corrector).nullable().optional(),
  stack: z
    .array(z.union([orId(PART_SCHEMAS.rings, TRAIN_KEYS["stack[]"]), spacersSchema]))
    .meta({ description: describeForEditor(TRAIN_KEYS.stack) })
    .optional(),
  camera: orId(PART_SCHEMAS.cameras, TRAIN_KEYS.camera),
});

const writtenTest = testSchema.extend({
  filter: orId(PART_SCHEMAS.filters, TEST_KEYS.filter).nullable().optional(),
});

const writtenParts = z.strictObject(
  Object.fromEntries(
    (Object.keys(PART_KINDS) as (keyof typeof PART_KINDS)[]).map((kind) => [
      kind,
      z
        .record(idText, PART_SCHEMAS[kind] as z.ZodType)
        .meta({ description: describeForEditor(RECORD_KEYS.parts[kind]) })
        .optional(),
    ]),
  ),
);

const written: Record<WrittenKind, z.ZodType> = {
  train: writtenTrain,
  test: writtenTest,
  site: siteSchema,
  comparison: comparisonSchema,
  parts: writtenParts,
};

const titles: Record<WrittenKind, string> = {
  train: "One optical train, its parts in order from the telescope to the sensor",
  test: "One night's test of a train in one state",
  site: "What holds for the whole site",
  comparison: "Two trains, or two tests, side by side",
  parts: "Parts that several trains share, by id",
};

/**
 * The JSON Schema (draft 7) of each record as it is written, for completion and hints in an editor. It allows what the
 * reader allows but for what a schema cannot see: days of the calendar, and keys that contradict each other.
 */
export function makeJsonSchemas(): Record<WrittenKind, Record<string, unknown>> {
  const make = (kind: WrittenKind) => ({
    ...z.toJSONSchema(written[kind], { io: "input", target: "draft-7" }),
    title: titles[kind],
  });
  return {
    train: make("train"),
    test: make("test"),
    site: make("site"),
    comparison: make("comparison"),
    parts: make("parts"),
  };
}
