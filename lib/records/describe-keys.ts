import { REVIEW_KEYS } from "./equipment-keys.ts";
import { COLOUR_KEYS, FILTER_KEYS } from "./filter-keys.ts";
import type { KeyMeaning, KeyMeanings } from "./key-meaning.ts";
import { describeAllowed, nestMeanings } from "./key-meaning.ts";
import {
  CAMERA_KEYS,
  CORRECTOR_KEYS,
  GLASS_KEYS,
  OFFSET_KEYS,
  RING_KEYS,
  TELESCOPE_KEYS,
} from "./part-keys.ts";
import { COMPARISON_KEYS, SITE_KEYS } from "./site-keys.ts";
import { TEST_KEYS } from "./test-keys.ts";
import { TRAIN_KEYS } from "./train-keys.ts";

/** The kinds of record, by the file that holds one. */
export type RecordKind = "train" | "test" | "site" | "comparison" | "parts" | "review";

/** Each kind of part that content/parts may hold, and the meanings of its keys. */
export const PART_KINDS = {
  telescopes: TELESCOPE_KEYS,
  correctors: CORRECTOR_KEYS,
  cameras: {
    ...CAMERA_KEYS,
    ...nestMeanings("windowGlass", GLASS_KEYS),
    ...nestMeanings("coloursNm", COLOUR_KEYS),
  },
  filters: { ...FILTER_KEYS, ...nestMeanings("glass", GLASS_KEYS) },
  rings: { ...RING_KEYS, ...nestMeanings("glass", GLASS_KEYS), ...nestMeanings("offsetMm", OFFSET_KEYS) },
} as const satisfies Record<string, KeyMeanings>;

export type PartKind = keyof typeof PART_KINDS;

const partMeaning = (kind: string): KeyMeaning => ({
  meaning: `The ${kind} that several trains may share, each under an id of its own.`,
  allowed: `a mapping from ids to ${kind}`,
  example: "{}",
  leftOut: "none",
});

/** Every key of every record. Of content/parts: "cameras.<id>.pixelPitchUm". */
export const RECORD_KEYS: Readonly<Record<RecordKind, KeyMeanings>> = {
  train: TRAIN_KEYS,
  test: TEST_KEYS,
  site: SITE_KEYS,
  comparison: COMPARISON_KEYS,
  review: REVIEW_KEYS,
  parts: Object.fromEntries(
    Object.entries(PART_KINDS).flatMap(([kind, keys]) => [
      [kind, partMeaning(kind)],
      ...Object.entries(nestMeanings(`${kind}.<id>`, keys)),
    ]),
  ),
};

/** One line of the key list that the README prints. */
export interface KeyLine {
  key: string;
  meaning: string;
  allowed: string;
  /** "needed", or what holds where it is left out. */
  leftOut: string;
  example: string;
}

/** The keys of a record in the order in which they are written; items of plain lists are left out. */
export function listKeys(kind: RecordKind): KeyLine[] {
  return Object.entries(RECORD_KEYS[kind])
    .filter(([key]) => !key.endsWith("[]"))
    .map(([key, meaning]) => ({
      key,
      meaning: meaning.meaning,
      allowed: describeAllowed(meaning),
      leftOut: meaning.leftOut ?? "needed",
      example: meaning.example,
    }));
}

/** The meaning of the key at a path as zod gives it, null for one that no record has. */
export function findMeaning(kind: RecordKind, path: readonly PropertyKey[]): KeyMeaning | null {
  return RECORD_KEYS[kind][nameKeyPattern(kind, path)] ?? null;
}

/** The keys known directly below a path, for suggesting the nearest. */
export function listChildKeys(kind: RecordKind, path: readonly PropertyKey[]): string[] {
  const prefix = path.length === 0 ? "" : `${nameKeyPattern(kind, path)}.`;
  return Object.keys(RECORD_KEYS[kind])
    .filter((key) => key.startsWith(prefix))
    .map((key) => key.slice(prefix.length))
    .filter((rest) => rest !== "" && !/[.[<]/.test(rest));
}

function nameKeyPattern(kind: RecordKind, path: readonly PropertyKey[]): string {
  let pattern = "";
  path.forEach((step, depth) => {
    if (typeof step === "number") pattern += "[]";
    else if (kind === "parts" && depth === 1) pattern += ".<id>";
    else pattern += pattern === "" ? String(step) : `.${String(step)}`;
  });
  return pattern;
}
