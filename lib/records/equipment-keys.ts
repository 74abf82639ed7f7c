import { type KeyMeanings, nestMeanings } from "./key-meaning.ts";

// What a buyer asks of a piece of equipment beside its optics. Nothing here enters a measurement; all of it may be left
// out. Ranges are wide: they catch a wrong unit or a slipped point. Common practice, no source.

const line = "text of 1 to 120 characters";

const PRICE_KEYS: KeyMeanings = {
  amount: {
    meaning: "What was paid, in the currency named beside it.",
    range: [0, 10_000_000],
    example: "1290",
  },
  currency: {
    meaning: "The currency by its three letters (ISO 4217).",
    allowed: "three capital letters such as EUR, USD or GBP",
    example: "EUR",
  },
  year: {
    meaning: "The year in which it was paid.",
    range: [1900, 2200],
    whole: true,
    example: "2026",
    leftOut: "not stated",
  },
};

/** Keys that a telescope, corrector, camera and ring share. */
export const EQUIPMENT_KEYS: KeyMeanings = {
  weightG: {
    meaning: "Weight as weighed or as its maker states it.",
    unit: "g",
    range: [0.1, 500_000],
    example: "6200",
    leftOut: "not stated",
  },
  pricePaid: {
    meaning: "What was paid for it.",
    allowed: "a mapping with amount, currency and, if you like, year",
    example: "{ amount: 1290, currency: EUR, year: 2026 }",
    leftOut: "not stated",
  },
  ...nestMeanings("pricePaid", PRICE_KEYS),
  thread: {
    meaning: "The thread or fitting on the side of the camera.",
    allowed: line,
    example: "M54 x 0.75",
    leftOut: "not stated",
  },
  included: {
    meaning: "What came with it.",
    allowed: "a list of at most 30 short texts",
    example: "[tube rings, dovetail bar]",
    leftOut: "not stated",
  },
  "included[]": { meaning: "One thing that came with it.", allowed: line, example: "tube rings" },
  missing: {
    meaning: "What is needed to use it and did not come with it.",
    allowed: "a list of at most 30 short texts",
    example: "[finder, M54 ring of 16.5 mm]",
    leftOut: "not stated",
  },
  "missing[]": { meaning: "One thing that is needed and was missing.", allowed: line, example: "finder" },
};

/** What a part adds to the length of the train; a ring has its `lengthMm` for that. */
export const bodyLengthKey = (meaning: string, example: string): KeyMeanings => ({
  bodyLengthMm: { meaning, unit: "mm", range: [0, 20_000], example, leftOut: "not stated" },
});

export const FOCUSER_KEYS: KeyMeanings = {
  travelMm: {
    meaning: "How far the focuser moves.",
    unit: "mm",
    range: [0.1, 1000],
    example: "75",
    leftOut: "not stated",
  },
  clearDiameterMm: {
    meaning: "Free opening of the drawtube.",
    unit: "mm",
    range: [5, 400],
    example: "63",
    leftOut: "not stated",
  },
  fineRatio: {
    meaning: "Turns of the fine knob for one of the coarse: 10 for one to ten.",
    range: [1, 1000],
    example: "10",
    leftOut: "not stated",
  },
  loadG: {
    meaning: "Load the focuser holds, as its maker states it or as tried.",
    unit: "g",
    range: [1, 100_000],
    example: "4000",
    leftOut: "not stated",
  },
  rotator: {
    meaning: "Whether the camera can be turned without loosening a thread.",
    allowed: "true or false",
    example: "true",
    leftOut: "not stated",
  },
};

/** Things used that are not part of the optics: the mount, the guider, a dew heater. */
export const ITEM_KEYS: KeyMeanings = {
  item: { meaning: "What it is for.", allowed: line, example: "mount" },
  name: { meaning: "What it is called.", allowed: line, example: "Fellside oak pier", leftOut: "not stated" },
  ...EQUIPMENT_KEYS,
  note: {
    meaning: "Anything a reader should know of it.",
    allowed: "text of at most 300 characters",
    example: "borrowed for one night",
    leftOut: "none",
  },
};

export const OBTAINED_WORDS = [
  "bought",
  "boughtUsed",
  "lent",
  "given",
  "builtByAuthor",
  "clubOwned",
] as const;
export const SAY_WORDS = ["nobody", "factsChecked", "approved"] as const;

/** How the equipment came to the author, and who had a say in the text. */
export const DISCLOSURE_KEYS: KeyMeanings = {
  obtained: {
    meaning: "How the equipment came to the author.",
    words: OBTAINED_WORDS,
    example: "bought",
  },
  from: {
    meaning: "From whom it came.",
    allowed: line,
    example: "a shop, at the shelf price",
    leftOut: "not stated",
  },
  goesBack: {
    meaning: "Whether it goes back after the test.",
    allowed: "true or false",
    example: "false",
    leftOut: "not stated",
  },
  copies: {
    meaning: "How many copies of the telescope and corrector were tested.",
    range: [1, 1000],
    whole: true,
    example: "1",
    leftOut: "not stated",
  },
  say: {
    meaning:
      "Who beside the author had a say in the text: nobody; a maker or dealer who checked facts before it appeared; or one who approved it.",
    words: SAY_WORDS,
    example: "nobody",
  },
  readBy: {
    meaning: "Who read the text before it appeared.",
    allowed: "a list of at most 30 short texts",
    example: "[two members of the club]",
    leftOut: "not stated",
  },
  "readBy[]": { meaning: "One reader.", allowed: line, example: "two members of the club" },
  ties: {
    meaning: "Money from, work for or friendship with a maker or dealer, in one or two sentences.",
    allowed: "text of at most 600 characters",
    example: "None.",
    leftOut: "not stated",
  },
};

/** review.md may begin with these, between two lines of three hyphens. */
export const REVIEW_KEYS: KeyMeanings = {
  draft: {
    meaning:
      "Whether the report is unfinished: its page is built and marked as a draft, and stays out of the index, the feed and the sitemap.",
    allowed: "true or false",
    example: "true",
    leftOut: "false",
  },
  summary: {
    meaning: "The report in one sentence, for the index, the feed and search engines.",
    allowed: "text of at most 300 characters",
    example: "Sharper in the corners only once the filter's glass was counted in.",
    leftOut: "the train is described from its record",
  },
};
