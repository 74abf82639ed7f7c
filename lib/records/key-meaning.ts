/**
 * What one record key means, written once: the schema's range check, the faults, the editor's completion, the
 * comments of a starting record and the key list of the README all read it from here.
 */
export interface KeyMeaning {
  /** In plain words, one or two sentences, without the unit. */
  meaning: string;
  /** As printed after a number: "mm", "um", "px". Absent for text. */
  unit?: string;
  /** Lowest and highest number that makes sense, both allowed. Outside it the value is a slip of the pen. */
  range?: readonly [number, number];
  /** True where only whole numbers make sense. */
  whole?: true;
  /** The words allowed, where only these are. */
  words?: readonly string[];
  /** What is allowed, where neither range nor words say it. */
  allowed?: string;
  /** An invented value, as it would be typed. */
  example: string;
  /** What holds where the key is left out; absent: the key is needed. */
  leftOut?: string;
}

/** Meanings by key path; "[]" stands for any item of a list: "stack[].lengthMm". */
export type KeyMeanings = Readonly<Record<string, KeyMeaning>>;

/** "clear text" of the allowed values, for a fault. */
export function describeAllowed(meaning: KeyMeaning): string {
  if (meaning.allowed !== undefined) return meaning.allowed;
  if (meaning.words !== undefined) return `one of ${meaning.words.join(", ")}`;
  if (meaning.range !== undefined) return describeRange(meaning, meaning.range);
  return "text";
}

function describeRange(meaning: KeyMeaning, [lowest, highest]: readonly [number, number]): string {
  const kind = meaning.whole ? "a whole number" : "a number";
  const unit = meaning.unit === undefined ? "" : ` ${meaning.unit}`;
  return `${kind} from ${lowest} to ${highest}${unit}`;
}

/** The meanings of `inner`, each key put under `prefix`. */
export function nestMeanings(prefix: string, inner: KeyMeanings): KeyMeanings {
  return Object.fromEntries(Object.entries(inner).map(([key, meaning]) => [`${prefix}.${key}`, meaning]));
}
