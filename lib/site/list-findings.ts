import type { Finding, TrainResults } from "../report/results.ts";
import type { EvidenceLink } from "./find-evidence.ts";
import { findEvidence } from "./find-evidence.ts";
import { spellUnits } from "./spell-units.ts";

export interface PageFinding {
  /** By which prose quotes it, and its anchor's end; each once on a page. */
  name: string;
  level: Finding["level"];
  levelWord: string;
  sentence: string;
  action: string | null;
  links: EvidenceLink[];
}

const levelWords: Record<Finding["level"], string> = {
  fail: "Fail",
  watch: "Watch",
  pass: "Pass",
  note: "Note",
};
const bySeverity: readonly Finding["level"][] = ["fail", "watch", "pass", "note"];

/** The findings in the order of the results (most important first), each with links to its evidence on the page. */
export function listFindings(results: TrainResults): PageFinding[] {
  const taken = new Set<string>();
  return results.findings.map((finding) => ({
    name: nameFinding(finding, taken),
    level: finding.level,
    levelWord: levelWords[finding.level],
    sentence: spellUnits(finding.sentence),
    action: finding.action === null ? null : spellUnits(finding.action),
    links: findEvidence(results, finding.evidence),
  }));
}

/** The finding's own name, else the path of its evidence without the test; told apart by a number where two are alike. */
function nameFinding(finding: Finding, taken: Set<string>): string {
  const [first = "general"] = finding.evidence;
  const told = finding.name ?? first.replace(/^tests\.\d+\./, "");
  const name =
    told
      .replace(/([a-z0-9])([A-Z])/g, "$1-$2")
      .replace(/[^A-Za-z0-9]+/g, "-")
      .replace(/^-+|-+$/g, "")
      .toLowerCase()
      .slice(0, 60) || "general";
  let own = name;
  for (let k = 2; taken.has(own); k++) own = `${name}-${k}`;
  taken.add(own);
  return own;
}

/** "1 fail, 2 watch" for the index; the word carries the level, never a colour alone. */
export function countFindings(findings: readonly Finding[]): string {
  const counts = bySeverity
    .map((level) => ({ level, count: findings.filter((finding) => finding.level === level).length }))
    .filter(({ count }) => count > 0)
    .map(({ level, count }) => `${count} ${level}${level === "note" && count > 1 ? "s" : ""}`);
  return counts.length === 0 ? "none yet" : counts.join(", ");
}
