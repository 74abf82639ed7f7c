import { writeJsonText } from "./json-text.ts";

/**
 * A copy of plain data with every text cleaned for a page: control characters (forbidden in HTML) and marks that
 * reorder text become visible replacement signs; line breaks and tabs stay. Data that needs no cleaning comes back as it is.
 */
export function cleanTexts<T extends object>(data: T): T {
  return suspicious.test(writeJsonText(data)) ? (cleanValue(data) as T) : data;
}

/** In JSON all that is to be replaced stands as an escape or as itself; most data has none and is not copied. */
const suspicious = /\\u|\\r|\\[bf]|[\u007f-\u009f\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef\ufffe\uffff]/;

const unwelcome =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to be replaced
  /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef\ufffe\uffff]|\p{Surrogate}/gu;

function cleanValue(value: unknown): unknown {
  if (typeof value === "string") {
    return value.replace(/\r\n?/g, "\n").replace(unwelcome, "\ufffd");
  }
  if (Array.isArray(value)) return typeof value[0] === "number" ? value : value.map(cleanValue);
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) => [cleanValue(key), cleanValue(inner)]),
  );
}
