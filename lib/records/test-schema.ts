import { z } from "zod";
import {
  csvPathField,
  dateField,
  describeForEditor,
  framesField,
  HEADER_PATTERN,
  numberField,
} from "./field-schemas.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import { filterSchema } from "./part-schemas.ts";
import { STAR_TABLE_COLUMNS } from "./star-table-columns.ts";
import { TEST_KEYS } from "./test-keys.ts";
import { mostSpacers } from "./train-schema.ts";
import type { StarTableRecord, TestRecord } from "./types.ts";

const describe = (meaning: KeyMeaning) => ({ description: describeForEditor(meaning) });

const mostFrames = 5000;

const anyOf = (words: readonly string[]) => new RegExp(`^(${words.join("|")})$`);
const columnWord = z.string().regex(anyOf(Object.keys(STAR_TABLE_COLUMNS)));
const columnUnit = z.string().regex(anyOf([...new Set(Object.values(STAR_TABLE_COLUMNS).flat())]));

const starTableSchema = z.strictObject({
  file: csvPathField(TEST_KEYS["starTable.file"]),
  columns: z.record(columnWord, z.string().min(1).max(200)).meta(describe(TEST_KEYS["starTable.columns"])),
  units: z.record(columnWord, columnUnit).meta(describe(TEST_KEYS["starTable.units"])).default({}),
}) satisfies z.ZodType<StarTableRecord>;

const headerText = z.string().regex(HEADER_PATTERN);

export const testSchema = z.strictObject({
  date: dateField(TEST_KEYS.date),
  frames: framesField(TEST_KEYS.frames).default([]),
  focusOffsetUm: z
    .union([
      numberField(TEST_KEYS.focusOffsetUm),
      z.array(numberField(TEST_KEYS["focusOffsetUm[]"])).min(1).max(mostFrames),
    ])
    .meta(describe(TEST_KEYS.focusOffsetUm))
    .default(0),
  flats: framesField(TEST_KEYS.flats).default([]),
  bias: framesField(TEST_KEYS.bias).default([]),
  sweep: z
    .strictObject({
      frames: framesField(TEST_KEYS["sweep.frames"]).min(1),
      positions: z
        .union([headerText, z.array(numberField(TEST_KEYS["sweep.positions[]"])).min(3).max(mostFrames)])
        .meta(describe(TEST_KEYS["sweep.positions"])),
      umPerStep: numberField(TEST_KEYS["sweep.umPerStep"]).refine((step) => step !== 0),
    })
    .meta(describe(TEST_KEYS.sweep))
    .nullable()
    .default(null),
  spacersMm: z
    .array(numberField(TEST_KEYS["spacersMm[]"]))
    .max(mostSpacers)
    .meta(describe(TEST_KEYS.spacersMm))
    .nullable()
    .default(null),
  filter: filterSchema.nullable().default(null),
  cameraAngleDeg: numberField(TEST_KEYS.cameraAngleDeg).nullable().default(null),
  altitudeDeg: z
    .union([numberField(TEST_KEYS.altitudeDeg), headerText])
    .meta(describe(TEST_KEYS.altitudeDeg))
    .nullable()
    .default(null),
  zenithAngleDeg: numberField(TEST_KEYS.zenithAngleDeg).nullable().default(null),
  edge: z
    .strictObject({ frames: framesField(TEST_KEYS["edge.frames"]).min(1) })
    .meta(describe(TEST_KEYS.edge))
    .nullable()
    .default(null),
  starTable: starTableSchema.meta(describe(TEST_KEYS.starTable)).nullable().default(null),
  guiding: z
    .strictObject({ file: csvPathField(TEST_KEYS["guiding.file"]) })
    .meta(describe(TEST_KEYS.guiding))
    .nullable()
    .default(null),
  wind: z
    .strictObject({ file: csvPathField(TEST_KEYS["wind.file"]) })
    .meta(describe(TEST_KEYS.wind))
    .nullable()
    .default(null),
  conditions: z
    .record(z.string().regex(/^[A-Za-z][A-Za-z0-9]{0,39}$/), z.union([z.string().max(500), z.number()]))
    .refine((conditions) => Object.keys(conditions).length <= 40)
    .meta(describe(TEST_KEYS.conditions))
    .default({}),
  notes: z.string().max(20000).meta(describe(TEST_KEYS.notes)).default(""),
}) satisfies z.ZodType<TestRecord>;
