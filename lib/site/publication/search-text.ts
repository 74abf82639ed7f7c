import type { TrainResults } from "../../report/results.ts";
import { readTrainRecord } from "../describe-train.ts";
import { findValue } from "../prose/find-value.ts";
import { printValue } from "../prose/print-value.ts";
import { readPlacing } from "../prose/read-placing.ts";
import { spellUnits } from "../spell-units.ts";

/** What a search over all reports looks through, of one train. */
export interface SearchText {
  /** Names of the parts. */
  parts: string[];
  findings: string[];
  /** Notes, conditions and the author's account, as plain sentences. */
  prose: string;
}

/** More of one report would make every reader of the index wait for one author's length. */
const mostProse = 12_000;

/** What stands in a sentence in place of what its author placed there: a value as printed, a side note in brackets. */
function sayPlaced(inner: string, results: TrainResults): string {
  const { placing } = readPlacing(inner);
  if (placing === null) return " ";
  if (placing.kind === "value") {
    const found = findValue(results, placing.path);
    const printed = "missing" in found ? null : printValue(found.value, found.key, placing.words, "");
    return printed === null || !("html" in printed) ? "…" : printed.html.replace(/<[^>]*>/g, "");
  }
  if (placing.kind === "note") return ` (${placing.text})`;
  return placing.kind === "see" ? `the ${placing.text.split(" ")[0]}` : " ";
}

/** Markdown's marks taken off, so that a find shows sentences; addresses of links go. */
function stripMarkdown(text: string, results: TrainResults): string {
  const say = (_: string, inner: string) => sayPlaced(inner, results);
  // A side note may hold values: what is inside goes first.
  return text
    .replace(/^---\n[\s\S]*?\n---\n/, "")
    .replace(/\{\{([^{}]*)\}\}/g, say)
    .replace(/\{\{([^{}]*)\}\}/g, say)
    .replace(/!?\[([^\]]*)\]\([^)]*\)/g, "$1")
    .replace(/[`*_#>|]+/g, " ")
    .replace(/\s+/g, " ")
    .trim();
}

export function makeSearchText(results: TrainResults): SearchText {
  const { telescope, corrector, camera, stack } = readTrainRecord(results);
  const parts = [
    telescope.name,
    corrector?.name,
    camera.name,
    ...stack.map((item) => ("part" in item ? item.part : undefined)),
    ...results.tests.map((test) => test.record.filter),
  ];
  const prose = [
    results.page.reviewMarkdown ?? "",
    ...results.tests.flatMap((test) => [
      test.date,
      ...Object.values(test.record.conditions).map(String),
      test.record.notesMarkdown,
      test.diagnosis?.sentence ?? "",
    ]),
  ];
  return {
    parts: [...new Set(parts.filter((name) => typeof name === "string"))],
    findings: results.findings.map(({ sentence, action }) =>
      spellUnits([sentence, action].filter(Boolean).join(" ")),
    ),
    prose: stripMarkdown(prose.join("\n\n"), results).slice(0, mostProse),
  };
}
