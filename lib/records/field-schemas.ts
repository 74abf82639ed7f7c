import { z } from "zod";
import { isRealDate } from "./calendar-date.ts";
import { describeAllowed, type KeyMeaning } from "./key-meaning.ts";

/** The meaning as an editor shows it: what it is, what is allowed, what holds where it is left out. */
export function describeForEditor(meaning: KeyMeaning): string {
  const leftOut = meaning.leftOut === undefined ? "" : ` Left out: ${meaning.leftOut}.`;
  return `${meaning.meaning} Allowed: ${describeAllowed(meaning)}. For instance ${meaning.example}.${leftOut}`;
}

/** A number within its range; never NaN or infinite. */
export function numberField(meaning: KeyMeaning): z.ZodNumber {
  if (meaning.range === undefined) throw new Error(`no range is stated for "${meaning.meaning}"`);
  const [lowest, highest] = meaning.range;
  const bounded = z
    .number()
    .min(lowest)
    .max(highest)
    .meta({ description: describeForEditor(meaning) });
  return meaning.whole ? bounded.multipleOf(1) : bounded;
}

// Control characters and the marks that turn the direction of text have no place on one line of a page.
const oneLine = /^[^\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]*$/u;
const longestLine = 120;

/** One line of text that says something. The pages escape it, so quotes and angle brackets are allowed. */
export function lineField(meaning: KeyMeaning): z.ZodString {
  return optionalLineField(meaning).regex(/\S/);
}

/** One line of running text of at most `most` characters that says something. */
export function sentenceField(meaning: KeyMeaning, most: number): z.ZodString {
  return z
    .string()
    .max(most)
    .regex(oneLine)
    .regex(/\S/)
    .meta({ description: describeForEditor(meaning) });
}

/** One line of text that may be empty. */
export function optionalLineField(meaning: KeyMeaning): z.ZodString {
  return z
    .string()
    .max(longestLine)
    .regex(oneLine)
    .meta({ description: describeForEditor(meaning) });
}

/** Names of folders and parts that become part of an address: no separators, no leading dot. */
export const ID_PATTERN = /^[A-Za-z0-9](?:[A-Za-z0-9._-]{0,62}[A-Za-z0-9_-])?$/;

/** What an id may be, for a fault. */
export const ID_ALLOWED = "1 to 64 letters, digits, '-', '_' or '.', beginning with a letter or digit";

export function idField(meaning: KeyMeaning): z.ZodString {
  return z
    .string()
    .regex(ID_PATTERN)
    .meta({ description: describeForEditor(meaning) });
}

/** A file path or pattern; may point anywhere, but with forward slashes (a backslash quotes in a pattern), no address. */
export const FRAME_PATTERN = /^(?![^/]*:\/\/)[^\\\p{Cc}]{1,1024}$/u;
const mostPatterns = 5000;

export function framesField(meaning: KeyMeaning): z.ZodArray<z.ZodString> {
  return z
    .array(z.string().regex(FRAME_PATTERN))
    .max(mostPatterns)
    .meta({ description: describeForEditor(meaning) });
}

/** A path that is not absolute; whether it stays inside the content folder is checked where the folder is known. */
export const CSV_PATTERN = /^(?![/~]|[A-Za-z]:)(?![^/]*:\/\/)[^\\\p{Cc}]{1,1024}$/u;

export function csvPathField(meaning: KeyMeaning): z.ZodString {
  return z
    .string()
    .regex(CSV_PATTERN)
    .meta({ description: describeForEditor(meaning) });
}

/** `header:KEYWORD`: a FITS keyword is at most eight of these characters (FITS Standard 4.0, section 4.1.2.1). */
export const HEADER_PATTERN = /^header:[A-Z0-9_-]{1,8}$/;

export function dateField(meaning: KeyMeaning): z.ZodString {
  return z
    .string()
    .regex(/^\d{4}-\d{2}-\d{2}$/)
    .refine(isRealDate)
    .meta({ description: describeForEditor(meaning) });
}
