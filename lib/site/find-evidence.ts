import type { TrainResults } from "../report/results.ts";
import { formatDate } from "./format-number.ts";

export interface EvidenceLink {
  href: string;
  text: string;
}

const wholeParts: Record<string, EvidenceLink> = {
  sampling: { href: "#sampling", text: "sampling" },
  backFocus: { href: "#back-focus", text: "back focus" },
  ledger: { href: "#ledger", text: "spacings tried" },
  provenance: { href: "#provenance", text: "where the numbers come from" },
  train: { href: "#records", text: "record" },
};

/** Parts of a test and the anchor that shows them, where the page has one of their own. */
const testParts: Record<string, { anchor: string; text: string }> = {
  zones: { anchor: "tbl-zones", text: "zone table" },
  frames: { anchor: "tbl-frames", text: "frames" },
};

/** Results may come from a file that was tampered with: only names written here count. */
function findOwn<T>(parts: Record<string, T>, key: string): T | undefined {
  return Object.hasOwn(parts, key) ? parts[key] : undefined;
}

function findTestPart(results: TrainResults, keys: string[]): EvidenceLink | null {
  const test = results.tests[Number(keys[1])] ?? results.tests.find(({ id }) => id === keys[1]);
  if (test === undefined) return null;
  const part = findOwn(testParts, keys[2] ?? "");
  const shown = part !== undefined && (keys[2] === "frames" ? test.frames.length > 0 : test.zones !== null);
  return shown
    ? { href: `#${part.anchor}-${test.id}`, text: `${part.text}, ${formatDate(test.date)}` }
    : { href: `#test-${test.id}`, text: `test of ${formatDate(test.date)}` };
}

/**
 * Where on the page the evidence of a finding is seen. Evidence is a path into results.json
 * ("tests.0.zones.lowerRight.fwhm.um"); what the page does not show links to the file itself. Equal links are one.
 */
export function findEvidence(results: TrainResults, evidence: readonly string[]): EvidenceLink[] {
  const links = evidence.map((path) => {
    const keys = path
      .replace(/^\$\.?|^\//, "")
      .split(/[./[\]]+/)
      .filter((key) => key !== "");
    const found = keys[0] === "tests" ? findTestPart(results, keys) : findOwn(wholeParts, keys[0] ?? "");
    const present =
      keys[0] === "backFocus" ? results.backFocus !== null : keys[0] !== "ledger" || results.ledger !== null;
    return found && present ? found : { href: "results.json", text: "results file" };
  });
  return links.filter((link, k) => links.findIndex(({ href }) => href === link.href) === k);
}
