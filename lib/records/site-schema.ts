import { z } from "zod";
import { DEFAULT_SITE } from "./defaults.ts";
import { describeForEditor, idField, lineField, optionalLineField } from "./field-schemas.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import { COMPARISON_KEYS, SITE_KEYS } from "./site-keys.ts";
import { tolerancesSchema } from "./train-schema.ts";
import type { ComparisonRecord, SiteRecord } from "./types.ts";

const describe = (meaning: KeyMeaning) => ({ description: describeForEditor(meaning) });

export const siteSchema = z.strictObject({
  title: lineField(SITE_KEYS.title).default(DEFAULT_SITE.title),
  author: optionalLineField(SITE_KEYS.author).default(DEFAULT_SITE.author),
  club: optionalLineField(SITE_KEYS.club).default(DEFAULT_SITE.club),
  baseUrl: z
    .string()
    .max(300)
    .regex(/^(https?:\/\/[^\s"'<>\\]+)?$/)
    .meta(describe(SITE_KEYS.baseUrl))
    .default(DEFAULT_SITE.baseUrl),
  language: z
    .string()
    .regex(/^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8}){0,3}$/)
    .meta(describe(SITE_KEYS.language))
    .default(DEFAULT_SITE.language),
  tolerances: tolerancesSchema.meta(describe(SITE_KEYS.tolerances)).default({}),
}) satisfies z.ZodType<SiteRecord>;

const sideSchema = z.strictObject({
  train: idField(COMPARISON_KEYS["a.train"]),
  test: idField(COMPARISON_KEYS["a.test"]).exactOptional(),
});

export const comparisonSchema = z.strictObject({
  name: lineField(COMPARISON_KEYS.name),
  a: sideSchema.meta(describe(COMPARISON_KEYS.a)),
  b: sideSchema.meta(describe(COMPARISON_KEYS.b)),
}) satisfies z.ZodType<ComparisonRecord>;
