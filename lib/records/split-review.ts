import type { Fault } from "../fault.ts";
import { checkRecord } from "./check-record.ts";
import { reviewSchema } from "./equipment-schemas.ts";
import { readDocument } from "./record-document.ts";
import type { ReviewRecord } from "./types.ts";

export interface ReviewSplit {
  /** Null where the head has a fault. */
  record: ReviewRecord | null;
  /** The prose; lines of the head are left empty, so that lines count as in the file. */
  markdown: string;
  faults: Fault[];
}

const fence = /^---[ \t]*$/;
/** A head has two keys; one that runs on was never closed. */
const longestHead = 40;

/**
 * Parts a review into its head (YAML between two lines of three hyphens at the very top, may be left out) and its prose.
 * `file` is only for the faults.
 */
export function splitReview(text: string, file: string): ReviewSplit {
  const lines = text.split(/\r\n?|\n/);
  const without: ReviewRecord = { draft: false, summary: "" };
  if (!fence.test(lines[0] ?? "")) return { record: without, markdown: text, faults: [] };
  const end = lines.slice(0, longestHead + 2).findIndex((line, at) => at > 0 && fence.test(line));
  if (end < 0) {
    const fault: Fault = {
      code: "records/open-head",
      file,
      line: 1,
      column: 1,
      found: "a first line of three hyphens, which opens a head, and none that closes it",
      allowed: `a head of at most ${longestHead} lines between two lines of three hyphens`,
      fix: "put a line --- below the last key of the head; for a rule across the page, leave the first line empty",
    };
    return { record: null, markdown: "", faults: [fault] };
  }
  const markdown = [...lines.slice(0, end + 1).map(() => ""), ...lines.slice(end + 1)].join("\n");
  // The fence stays behind as an empty line: line numbers in faults are those of the file.
  const head = ["", ...lines.slice(1, end)].join("\n");
  if (head.trim() === "") return { record: without, markdown, faults: [] };
  const document = readDocument(head, file);
  if (document.data === undefined || document.faults.length > 0)
    return { record: null, markdown, faults: document.faults };
  if (document.data === null) return { record: without, markdown, faults: [] };
  const { record, faults } = checkRecord<ReviewRecord>({
    kind: "review",
    document,
    data: document.data,
    schema: reviewSchema,
    check: () => [],
  });
  return { record, markdown, faults };
}
