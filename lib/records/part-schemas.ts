import { z } from "zod";
import { BOROSILICATE_CROWN_INDEX } from "./defaults.ts";
import { equipmentFields, focuserSchema } from "./equipment-schemas.ts";
import { describeForEditor, lineField, numberField } from "./field-schemas.ts";
import { COLOUR_KEYS, FILTER_KEYS } from "./filter-keys.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import {
  CAMERA_KEYS,
  CORRECTOR_KEYS,
  GLASS_KEYS,
  OFFSET_KEYS,
  RING_KEYS,
  TELESCOPE_KEYS,
} from "./part-keys.ts";
import type { Camera, Corrector, FilterRecord, Glass, StackPart, Telescope } from "./types.ts";

const describe = (meaning: KeyMeaning) => ({ description: describeForEditor(meaning) });

const glassSchema = z.strictObject({
  thicknessMm: numberField(GLASS_KEYS.thicknessMm),
  index: numberField(GLASS_KEYS.index).default(BOROSILICATE_CROWN_INDEX),
}) satisfies z.ZodType<Glass>;

export const offsetSchema = z
  .strictObject({ x: numberField(OFFSET_KEYS.x), y: numberField(OFFSET_KEYS.y) })
  .meta(describe(RING_KEYS.offsetMm));

export const telescopeSchema = z.strictObject({
  name: lineField(TELESCOPE_KEYS.name),
  apertureMm: numberField(TELESCOPE_KEYS.apertureMm),
  focalLengthMm: numberField(TELESCOPE_KEYS.focalLengthMm),
  obstructionMm: numberField(TELESCOPE_KEYS.obstructionMm).default(0),
  bodyLengthMm: numberField(TELESCOPE_KEYS.bodyLengthMm).exactOptional(),
  focuser: focuserSchema.meta(describe(TELESCOPE_KEYS.focuser)).exactOptional(),
  ...equipmentFields,
}) satisfies z.ZodType<Telescope>;

export const correctorSchema = z.strictObject({
  name: lineField(CORRECTOR_KEYS.name),
  kind: z.enum(["reducer", "flattener", "extender"]).meta(describe(CORRECTOR_KEYS.kind)),
  // 1 is right for a flattener; that the others state theirs is checked with the kind at hand.
  factor: numberField(CORRECTOR_KEYS.factor).default(1),
  backFocusMm: numberField(CORRECTOR_KEYS.backFocusMm),
  radialMeans: z
    .enum(["tooClose", "tooFar", "unknown"])
    .meta(describe(CORRECTOR_KEYS.radialMeans))
    .default("unknown"),
  exitPupilMm: numberField(CORRECTOR_KEYS.exitPupilMm).exactOptional(),
  bodyLengthMm: numberField(CORRECTOR_KEYS.bodyLengthMm).exactOptional(),
  ...equipmentFields,
}) satisfies z.ZodType<Corrector>;

export const ringSchema = z.strictObject({
  part: lineField(RING_KEYS.part),
  lengthMm: numberField(RING_KEYS.lengthMm),
  clearDiameterMm: numberField(RING_KEYS.clearDiameterMm).exactOptional(),
  glass: glassSchema.meta(describe(RING_KEYS.glass)).exactOptional(),
  offsetMm: offsetSchema.exactOptional(),
  ...equipmentFields,
}) satisfies z.ZodType<StackPart>;

export const cameraSchema = z.strictObject({
  name: lineField(CAMERA_KEYS.name),
  widthPx: numberField(CAMERA_KEYS.widthPx),
  heightPx: numberField(CAMERA_KEYS.heightPx),
  pixelPitchUm: numberField(CAMERA_KEYS.pixelPitchUm),
  flangeMm: numberField(CAMERA_KEYS.flangeMm),
  windowGlass: glassSchema
    .meta(describe(CAMERA_KEYS.windowGlass))
    .default({ thicknessMm: 0, index: BOROSILICATE_CROWN_INDEX }),
  cfa: z.enum(["none", "RGGB", "BGGR", "GRBG", "GBRG"]).meta(describe(CAMERA_KEYS.cfa)).exactOptional(),
  coloursNm: z
    .strictObject({
      R: numberField(COLOUR_KEYS.R),
      G: numberField(COLOUR_KEYS.G),
      B: numberField(COLOUR_KEYS.B),
    })
    .meta(describe(CAMERA_KEYS.coloursNm))
    .exactOptional(),
  gainElectronsPerAdu: numberField(CAMERA_KEYS.gainElectronsPerAdu).exactOptional(),
  readNoiseElectrons: numberField(CAMERA_KEYS.readNoiseElectrons).exactOptional(),
  saturationAdu: numberField(CAMERA_KEYS.saturationAdu).exactOptional(),
  biasAdu: numberField(CAMERA_KEYS.biasAdu).exactOptional(),
  bodyLengthMm: numberField(CAMERA_KEYS.bodyLengthMm).exactOptional(),
  ...equipmentFields,
}) satisfies z.ZodType<Camera>;

export const filterSchema = z.strictObject({
  name: lineField(FILTER_KEYS.name),
  glass: glassSchema.meta(describe(FILTER_KEYS.glass)).exactOptional(),
  wavelengthNm: numberField(FILTER_KEYS.wavelengthNm).exactOptional(),
}) satisfies z.ZodType<FilterRecord>;

/** The schema of one part of each kind. */
export const PART_SCHEMAS = {
  telescopes: telescopeSchema,
  correctors: correctorSchema,
  cameras: cameraSchema,
  filters: filterSchema,
  rings: ringSchema,
} as const;
