import type { Finding, TrainResults } from "../report/results.ts";
import type { EvidenceLink } from "./find-evidence.ts";
import { findEvidence } from "./find-evidence.ts";
import { spellUnits } from "./spell-units.ts";

export interface PageFinding {
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
  return results.findings.map((finding) => ({
    level: finding.level,
    levelWord: levelWords[finding.level],
    sentence: spellUnits(finding.sentence),
    action: finding.action === null ? null : spellUnits(finding.action),
    links: findEvidence(results, finding.evidence),
  }));
}

/** "1 fail, 2 watch" for the index; the word carries the level, never a colour alone. */
export function countFindings(findings: readonly Finding[]): string {
  const counts = bySeverity
    .map((level) => ({ level, count: findings.filter((finding) => finding.level === level).length }))
    .filter(({ count }) => count > 0)
    .map(({ level, count }) => `${count} ${level}`);
  return counts.length === 0 ? "none yet" : counts.join(", ");
}
