import { sortByNearness } from "../maths/edit-distance.ts";
import type { Finding } from "./finding.ts";
import type { ComparisonRecord } from "./types.ts";

const mostShown = 6;

/** The ids nearest to the one typed first, cut where the list would be too long to read. */
export function listNearest(id: string, known: readonly string[], none: string): string {
  if (known.length === 0) return none;
  const sorted = sortByNearness(id, known);
  const rest = sorted.length - mostShown;
  return `${sorted.slice(0, mostShown).join(", ")}${rest > 0 ? ` and ${rest} more` : ""}`;
}

/** Ids that a comparison points at but that do not exist. `tests` holds the test ids of every train there is. */
export function checkComparison(
  record: ComparisonRecord,
  tests: ReadonlyMap<string, readonly string[]>,
): Finding[] {
  const findings: Finding[] = [];
  for (const side of ["a", "b"] as const) {
    const { train, test } = record[side];
    const known = tests.get(train);
    if (known === undefined) {
      findings.push({
        code: "records/unknown-train",
        path: [side, "train"],
        at: "value",
        found: `${train}, which is no train here`,
        allowed: listNearest(train, [...tests.keys()], "no train exists yet"),
        fix: "write the name of the train's folder",
      });
    } else if (test !== undefined && !known.includes(test)) {
      findings.push({
        code: "records/unknown-test",
        path: [side, "test"],
        at: "value",
        found: `${test}, which is no test of ${train}`,
        allowed: listNearest(test, known, `${train} has no test yet`),
        fix: "write the name of the test's folder, or leave test out",
      });
    }
  }
  if (record.a.train === record.b.train && record.a.test === record.b.test) {
    findings.push({
      code: "records/contradiction",
      path: ["b"],
      at: "value",
      found: "the same on both sides",
      allowed: "two different trains or tests",
      fix: "name another train or test under b",
    });
  }
  return findings;
}
