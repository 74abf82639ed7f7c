import { createHash } from "node:crypto";
import { open } from "node:fs/promises";
import type { Fault } from "../fault.ts";
import type { SourceText } from "./types.ts";

/** A record has a few kilobytes: the bound is for what is no record at all. */
export const largestRecordBytes = 128 * 1024;
/** A review is a few pages of prose; this is a book. */
export const largestProseBytes = 1024 * 1024;
/** A hundred thousand stars with twenty columns are about 20 MB. */
export const largestTableBytes = 64 * 1024 * 1024;

/** A text of the user's, or why it cannot be read. */
export type TextRead = { source: SourceText; fault: null } | { source: null; fault: Fault };

/**
 * Reads a file as UTF-8 text (a byte-order mark is dropped), within a bound and only if it is a plain file.
 * `name` is the file relative to the content folder, `shown` how messages name it.
 */
export async function readText(
  path: string,
  name: string,
  shown: string,
  largestBytes: number,
): Promise<TextRead> {
  const fail = (code: string, found: string, allowed: string, fix: string): TextRead => ({
    source: null,
    fault: { code, file: shown, found, allowed, fix },
  });
  let bytes: Buffer;
  try {
    const handle = await open(path, "r");
    try {
      const facts = await handle.stat();
      if (!facts.isFile()) {
        return fail("records/not-readable", "no plain file", "a text file", "put a text file in its place");
      }
      if (facts.size > largestBytes) {
        const found = `${facts.size} bytes`;
        return fail(
          "records/too-large",
          found,
          `at most ${largestBytes} bytes`,
          "is this the right file? shorten it",
        );
      }
      bytes = await handle.readFile();
    } finally {
      await handle.close();
    }
  } catch (error) {
    const found = `the system refuses to read it (${nameSystemError(error)})`;
    return fail(
      "records/not-readable",
      found,
      "a readable text file",
      "check that it exists and may be read",
    );
  }
  const text = decodeText(bytes);
  if (text === null) {
    const found = "bytes that are no UTF-8 text";
    return fail("records/not-utf8", found, "text saved as UTF-8", 'save it again with the encoding "UTF-8"');
  }
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  return { source: { file: name, text, sha256 }, fault: null };
}

function decodeText(bytes: Uint8Array): string | null {
  try {
    const text = new TextDecoder("utf-8", { fatal: true }).decode(bytes);
    return text.includes("\u0000") ? null : text;
  } catch {
    return null;
  }
}

/** "ENOENT" and the like: the one word of a system's error that helps a search. */
export function nameSystemError(error: unknown): string {
  return error instanceof Error && "code" in error ? String(error.code) : "unknown reason";
}
