import { z } from "zod";
import {
  DISCLOSURE_KEYS,
  EQUIPMENT_KEYS,
  FOCUSER_KEYS,
  ITEM_KEYS,
  OBTAINED_WORDS,
  REVIEW_KEYS,
  SAY_WORDS,
} from "./equipment-keys.ts";
import { describeForEditor, lineField, numberField, sentenceField } from "./field-schemas.ts";
import type { KeyMeaning } from "./key-meaning.ts";
import type { Disclosure, EquipmentItem, Focuser, PricePaid, ReviewRecord } from "./types.ts";

const describe = (meaning: KeyMeaning) => ({ description: describeForEditor(meaning) });

/** More would be a slip; the bound keeps a hostile record small. */
const mostTexts = 30;

const listField = (list: KeyMeaning, item: KeyMeaning) =>
  z.array(lineField(item)).max(mostTexts).meta(describe(list));

const priceSchema = z.strictObject({
  amount: numberField(EQUIPMENT_KEYS["pricePaid.amount"]),
  currency: z
    .string()
    .regex(/^[A-Z]{3}$/)
    .meta(describe(EQUIPMENT_KEYS["pricePaid.currency"])),
  year: numberField(EQUIPMENT_KEYS["pricePaid.year"]).exactOptional(),
}) satisfies z.ZodType<PricePaid>;

/** The keys that telescope, corrector, camera, ring and other equipment share, to be spread into their schemas. */
export const equipmentFields = {
  weightG: numberField(EQUIPMENT_KEYS["weightG"]).exactOptional(),
  pricePaid: priceSchema.meta(describe(EQUIPMENT_KEYS["pricePaid"])).exactOptional(),
  thread: lineField(EQUIPMENT_KEYS["thread"]).exactOptional(),
  included: listField(EQUIPMENT_KEYS["included"], EQUIPMENT_KEYS["included[]"]).exactOptional(),
  missing: listField(EQUIPMENT_KEYS["missing"], EQUIPMENT_KEYS["missing[]"]).exactOptional(),
};

export const focuserSchema = z.strictObject({
  travelMm: numberField(FOCUSER_KEYS["travelMm"]).exactOptional(),
  clearDiameterMm: numberField(FOCUSER_KEYS["clearDiameterMm"]).exactOptional(),
  fineRatio: numberField(FOCUSER_KEYS["fineRatio"]).exactOptional(),
  loadG: numberField(FOCUSER_KEYS["loadG"]).exactOptional(),
  rotator: z.boolean().meta(describe(FOCUSER_KEYS["rotator"])).exactOptional(),
}) satisfies z.ZodType<Focuser>;

export const itemSchema = z.strictObject({
  item: lineField(ITEM_KEYS["item"]),
  name: lineField(ITEM_KEYS["name"]).exactOptional(),
  ...equipmentFields,
  note: sentenceField(ITEM_KEYS["note"], 300).exactOptional(),
}) satisfies z.ZodType<EquipmentItem>;

export const disclosureSchema = z.strictObject({
  obtained: z.enum(OBTAINED_WORDS).meta(describe(DISCLOSURE_KEYS["obtained"])),
  from: lineField(DISCLOSURE_KEYS["from"]).exactOptional(),
  goesBack: z.boolean().meta(describe(DISCLOSURE_KEYS["goesBack"])).exactOptional(),
  copies: numberField(DISCLOSURE_KEYS["copies"]).exactOptional(),
  say: z.enum(SAY_WORDS).meta(describe(DISCLOSURE_KEYS["say"])),
  readBy: listField(DISCLOSURE_KEYS["readBy"], DISCLOSURE_KEYS["readBy[]"]).exactOptional(),
  ties: sentenceField(DISCLOSURE_KEYS["ties"], 600).exactOptional(),
}) satisfies z.ZodType<Disclosure>;

export const reviewSchema = z.strictObject({
  draft: z.boolean().meta(describe(REVIEW_KEYS["draft"])).default(false),
  summary: sentenceField(REVIEW_KEYS["summary"], 300).default(""),
}) satisfies z.ZodType<ReviewRecord>;
