import type { TrainResults } from "../../report/results.ts";
import { readTrainRecord } from "../describe-train.ts";
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

/** Markdown's marks taken off, so that a find shows sentences; addresses of links and names of placed values go. */
function stripMarkdown(text: string): string {
  return text
    .replace(/^---\n[\s\S]*?\n---\n/, "")
    .replace(/\{\{[^}]*\}\}/g, " ")
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
    prose: stripMarkdown(prose.join("\n\n")).slice(0, mostProse),
  };
}
