import type { KeyMeanings } from "./key-meaning.ts";
import { nameLength } from "./part-keys.ts";

// What light is let through: the colours of a filter array and the filter before it.

export const COLOUR_KEYS: KeyMeanings = {
  R: { meaning: "Red pixels.", unit: "nm", range: [350, 1000], example: "605" },
  G: { meaning: "Green pixels.", unit: "nm", range: [350, 1000], example: "535" },
  B: { meaning: "Blue pixels.", unit: "nm", range: [350, 1000], example: "465" },
};

export const FILTER_KEYS: KeyMeanings = {
  name: { meaning: "The filter as the page shall call it.", allowed: nameLength, example: "clear" },
  glass: {
    meaning: "The filter's glass; it replaces the glass in the train's stack.",
    allowed: "a mapping with thicknessMm and index",
    example: "{ thicknessMm: 2.0, index: 1.517 }",
    leftOut: "the stack's glass stays as it is",
  },
  wavelengthNm: {
    meaning: "Middle of the filter's passband.",
    unit: "nm",
    range: [250, 1200],
    example: "656",
    leftOut: "550 nm is used where a wavelength is called for",
  },
};
