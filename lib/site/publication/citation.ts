import type { SiteRecord } from "../../records/types.ts";
import type { TrainResults } from "../../report/results.ts";
import { formatDate } from "../format-number.ts";
import { nameSite } from "../index-page.ts";
import { sortNewestFirst } from "../key-numbers.ts";
import { joinTrainAddress } from "./page-address.ts";

export interface PageCitation {
  /** As a reader may set it into a list of sources. */
  text: string;
  /** First signs of the SHA-256 of results.json: they tell this state of the report from a later one. */
  state: string;
}

/** "from 3 October 2026 to 1 November 2026" of the tests; null where there is none. */
function describeSpan(results: TrainResults): string | null {
  const tests = sortNewestFirst(results.tests);
  const [last, first] = [tests[0]?.date, tests.at(-1)?.date];
  if (last === undefined || first === undefined) return null;
  return first === last
    ? `test of ${formatDate(last)}`
    : `${tests.length} tests from ${formatDate(first)} to ${formatDate(last)}`;
}

/** How to cite a report: who, year of the last test, name, what it rests on, where, and which state of it. */
export function makeCitation(results: TrainResults, site: SiteRecord, sha256: string): PageCitation {
  const who = [...new Set([results.page.author, results.page.club])].filter((name) => name !== "");
  const year = sortNewestFirst(results.tests)[0]?.date.slice(0, 4);
  const state = sha256.slice(0, 12);
  const parts = [
    `${who.length > 0 ? who.join(", ") : nameSite(site)}${year === undefined ? "" : ` (${year})`}: ${results.name}, ${describeSpan(results) ?? "no test yet"}`,
    joinTrainAddress(site, results.id),
    `State ${state}`,
  ];
  return { text: `${parts.filter((part) => part !== null).join(". ")}.`, state };
}
