import { showsLight } from "../draw/light-words.ts";
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
  tiltSources: { href: "#tilt-origin", text: "tilt by source" },
  train: { href: "#records", text: "record" },
};

/** Parts of a test and the anchor that shows them, where the page has one of their own. */
const testParts: Record<string, { anchor: string; text: string }> = {
  zones: { anchor: "tbl-zones", text: "zone table" },
  frames: { anchor: "tbl-frames", text: "frames" },
  diagnosis: { anchor: "tbl-corners", text: "corner by corner" },
  moves: { anchor: "tbl-moves", text: "moves" },
  sweep: { anchor: "tbl-sweep", text: "focus sweep" },
  illumination: { anchor: "tbl-light", text: "light in the corners" },
  rings: { anchor: "tbl-rings", text: "rings" },
  night: { anchor: "night", text: "guiding and wind" },
  colour: { anchor: "tbl-colour", text: "places by colour" },
};

/** Results may come from a file that was tampered with: only names written here count. */
function findOwn<T>(parts: Record<string, T>, key: string): T | undefined {
  return Object.hasOwn(parts, key) ? parts[key] : undefined;
}

function isShown(results: TrainResults, test: TrainResults["tests"][number], part: string): boolean {
  if (part === "frames") return test.frames.length > 0;
  if (part === "diagnosis") return test.diagnosis !== null;
  if (part === "moves") return test.moves?.screws.some(({ move }) => move.value !== null) ?? false;
  if (part === "illumination") return test.illumination !== null;
  if (part === "rings") return showsLight(results, results.tests.indexOf(test));
  if (part === "night") return test.night !== null;
  if (part === "colour") return test.colour !== null;
  return part === "sweep" ? test.sweep !== null : test.zones !== null;
}

function findTestPart(results: TrainResults, keys: string[]): EvidenceLink | null {
  const test = results.tests[Number(keys[1])] ?? results.tests.find(({ id }) => id === keys[1]);
  if (test === undefined) return null;
  const part = findOwn(testParts, keys[2] ?? "");
  const shown = part !== undefined && isShown(results, test, keys[2] ?? "");
  return shown
    ? { href: `#${part.anchor}-${test.id}`, text: `${part.text}, ${formatDate(test.date)}` }
    : { href: `#test-${test.id}`, text: `test of ${formatDate(test.date)}` };
}

function isPresent(results: TrainResults, part: string): boolean {
  if (part === "backFocus") return results.backFocus !== null;
  if (part === "ledger") return results.ledger !== null;
  return part !== "tiltSources" || (results.tiltSources ?? null) !== null;
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
    const present = isPresent(results, keys[0] ?? "");
    return found && present ? found : { href: "results.json", text: "results file" };
  });
  return links.filter((link, k) => links.findIndex(({ href }) => href === link.href) === k);
}
