import { DEFAULT_SITE } from "./defaults.ts";
import { type KeyMeanings, nestMeanings } from "./key-meaning.ts";
import { TOLERANCE_KEYS } from "./train-keys.ts";

/** site.yaml: what holds for the whole site. */
export const SITE_KEYS: KeyMeanings = {
  title: {
    meaning: "Title of the site.",
    allowed: "text of 1 to 120 characters",
    example: "Optical train reports",
    leftOut: DEFAULT_SITE.title,
  },
  author: {
    meaning: "Who measured and wrote.",
    allowed: "text of at most 120 characters",
    example: "A. Fell",
    leftOut: "not shown",
  },
  club: {
    meaning: "The club or observatory.",
    allowed: "text of at most 120 characters",
    example: "Fellside Star Club",
    leftOut: "not shown",
  },
  baseUrl: {
    meaning: "Address at which the site will be published; links in it work without.",
    allowed: "an address that begins with https:// or http://",
    example: "https://example.org/trains/",
    leftOut: "the pages carry no address of their own",
  },
  language: {
    meaning: "Language of your prose, as a language tag.",
    allowed: "a language tag such as en, de or pt-BR",
    example: "en",
    leftOut: DEFAULT_SITE.language,
  },
  tolerances: {
    meaning: "What every train must keep to for a pass, unless its own record says otherwise.",
    allowed: `a mapping with ${Object.keys(TOLERANCE_KEYS).join(", ")}`,
    example: "{ cornerEllipticity: 0.2 }",
    leftOut: "those built in",
  },
  ...nestMeanings("tolerances", TOLERANCE_KEYS),
};

const side = {
  train: {
    meaning: "Id of the train: the name of its folder.",
    allowed: "the id of a train",
    example: "tarn-115",
  },
  test: {
    meaning: "Id of the test: the name of its folder.",
    allowed: "the id of a test of that train",
    example: "2026-10-03",
    leftOut: "all tests of the train",
  },
} as const;

/** comparisons/*.yaml: two trains, or two tests, side by side. */
export const COMPARISON_KEYS: KeyMeanings = {
  name: {
    meaning: "The comparison as the page's title shall call it.",
    allowed: "text of 1 to 120 characters",
    example: "Native against reduced",
  },
  a: {
    meaning: "The one side, the one compared against.",
    allowed: "a mapping with train, and test where only one is meant",
    example: "{ train: tarn-115-native, test: 2026-10-03 }",
  },
  ...nestMeanings("a", side),
  b: {
    meaning: "The other side.",
    allowed: "a mapping with train, and test where only one is meant",
    example: "{ train: tarn-115-reduced, test: 2026-10-04 }",
  },
  ...nestMeanings("b", side),
};
