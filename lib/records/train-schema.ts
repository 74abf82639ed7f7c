import { z } from "zod";
import { disclosureSchema, itemSchema } from "./equipment-schemas.ts";
import { describeForEditor, lineField, numberField } from "./field-schemas.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import { cameraSchema, correctorSchema, offsetSchema, ringSchema, telescopeSchema } from "./part-schemas.ts";
import { TOLERANCE_KEYS, TRAIN_KEYS } from "./train-keys.ts";
import type { Adjuster, ShimPlaces, StackSpacers, Tolerances, TrainRecord } from "./types.ts";

const describe = (meaning: KeyMeaning) => ({ description: describeForEditor(meaning) });

/** More would be a slip; the bound keeps a hostile record small. */
export const mostSpacers = 60;
const mostParts = 60;
const mostItems = 60;

export const tolerancesSchema = z.strictObject({
  cornerFwhmOverCentre: numberField(TOLERANCE_KEYS.cornerFwhmOverCentre).exactOptional(),
  cornerEllipticity: numberField(TOLERANCE_KEYS.cornerEllipticity).exactOptional(),
  cornerLightPercent: numberField(TOLERANCE_KEYS.cornerLightPercent).exactOptional(),
  tiltAcrossUm: numberField(TOLERANCE_KEYS.tiltAcrossUm).exactOptional(),
  spacingErrorMm: numberField(TOLERANCE_KEYS.spacingErrorMm).exactOptional(),
}) satisfies z.ZodType<Tolerances>;

export const spacersSchema = z.strictObject({
  spacersMm: z
    .array(numberField(TRAIN_KEYS["stack[].spacersMm[]"]))
    .max(mostSpacers)
    .meta(describe(TRAIN_KEYS["stack[].spacersMm"])),
  clearDiameterMm: numberField(TRAIN_KEYS["stack[].clearDiameterMm"]).exactOptional(),
  offsetMm: offsetSchema.exactOptional(),
}) satisfies z.ZodType<StackSpacers>;

const screwSchema = z.strictObject({
  angleDeg: numberField(TRAIN_KEYS["adjuster.screws[].angleDeg"]),
  radiusMm: numberField(TRAIN_KEYS["adjuster.screws[].radiusMm"]),
});

const screwsSchema = z.strictObject({
  screws: z.array(screwSchema).min(3).max(4).meta(describe(TRAIN_KEYS["adjuster.screws"])),
  pitchMm: numberField(TRAIN_KEYS["adjuster.pitchMm"]),
}) satisfies z.ZodType<Adjuster>;

const shimPlaceSchema = z.strictObject({
  angleDeg: numberField(TRAIN_KEYS["adjuster.shims[].angleDeg"]),
  radiusMm: numberField(TRAIN_KEYS["adjuster.shims[].radiusMm"]),
});

const shimsSchema = z.strictObject({
  shims: z.array(shimPlaceSchema).min(3).max(8).meta(describe(TRAIN_KEYS["adjuster.shims"])),
  thicknessesMm: z
    .array(numberField(TRAIN_KEYS["adjuster.thicknessesMm[]"]))
    .max(mostSpacers)
    .meta(describe(TRAIN_KEYS["adjuster.thicknessesMm"]))
    .default([]),
}) satisfies z.ZodType<ShimPlaces>;

/** A train with its parts in place of their ids, tolerances as far as its own record states them. */
export const trainSchema = z.strictObject({
  name: lineField(TRAIN_KEYS.name),
  telescope: telescopeSchema,
  corrector: correctorSchema.nullable().default(null),
  stack: z
    .array(z.union([ringSchema, spacersSchema]))
    .max(mostParts)
    .meta(describe(TRAIN_KEYS.stack))
    .default([]),
  camera: cameraSchema,
  spacersOwnedMm: z
    .array(numberField(TRAIN_KEYS["spacersOwnedMm[]"]))
    .max(mostSpacers)
    .meta(describe(TRAIN_KEYS.spacersOwnedMm))
    .default([]),
  adjuster: z.union([screwsSchema, shimsSchema]).meta(describe(TRAIN_KEYS.adjuster)).nullable().default(null),
  tolerances: tolerancesSchema.meta(describe(TRAIN_KEYS.tolerances)).default({}),
  equipment: z.array(itemSchema).max(mostItems).meta(describe(TRAIN_KEYS.equipment)).exactOptional(),
  disclosure: disclosureSchema.meta(describe(TRAIN_KEYS.disclosure)).exactOptional(),
}) satisfies z.ZodType<TrainRecord>;
