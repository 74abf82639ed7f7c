import type { Unit } from "../maths/quantity.ts";

/** A JSON Schema (draft 7), as plain data. */
export type Schema = { readonly [key: string]: unknown };

export const text: Schema = { type: "string" };
export const number: Schema = { type: "number" };
export const count: Schema = { type: "integer", minimum: 0 };
export const sha256: Schema = { type: "string", pattern: "^[0-9a-f]{64}$" };
export const date: Schema = { type: "string", pattern: "^\\d{4}-\\d{2}-\\d{2}$" };

export const list = (items: Schema): Schema => ({ type: "array", items });
export const orNull = (schema: Schema): Schema => ({ anyOf: [{ type: "null" }, schema] });
export const oneOf = (...values: string[]): Schema => ({ enum: values });

/** An object with these keys, all required; more may stand beside them. */
export function object(properties: Record<string, Schema>, description?: string): Schema {
  return {
    type: "object",
    ...(description === undefined ? {} : { description }),
    required: Object.keys(properties),
    properties,
  };
}

/** An object of which every value is alike, under any key. */
export const dictionary = (values: Schema): Schema => ({ type: "object", additionalProperties: values });

/** The same schema under each of several keys. */
export function each(keys: readonly string[], schema: Schema): Record<string, Schema> {
  return Object.fromEntries(keys.map((key) => [key, schema]));
}

/** A number in a unit with its 95 % interval and count, or the reason why it cannot be told. */
export function quantity(unit: Unit, description?: string): Schema {
  return {
    ...(description === undefined ? {} : { description }),
    type: "object",
    required: ["value", "unit"],
    properties: { unit: { const: unit } },
    oneOf: [
      {
        required: ["lo", "hi", "n"],
        properties: { value: number, lo: number, hi: number, n: count },
      },
      { required: ["why"], properties: { value: { type: "null" }, why: { type: "string", minLength: 1 } } },
    ],
  };
}

export const length: Schema = { $ref: "#/definitions/length" };
export const lengthDefinition: Schema = object(
  { px: quantity("px"), um: quantity("um"), arcsec: quantity("arcsec") },
  "A width in the three units a reader may want.",
);

export const corners = ["upperLeft", "upperRight", "lowerLeft", "lowerRight"];
export const zones = ["centre", "middle", "outer", "corner", ...corners];

/** A class with how sure it is. */
export function judged(...classes: string[]): Schema {
  return object({ class: oneOf(...classes), confidence: { type: "number", minimum: 0, maximum: 1 } });
}
