import { createHash } from "node:crypto";
import type { SiteRecord } from "../../records/types.ts";
import type { TrainResults } from "../../report/results.ts";
import { writeJsonText } from "../json-text.ts";
import { makeCitation, type PageCitation } from "./citation.ts";
import { makeLinkedData } from "./linked-data.ts";
import { joinTrainAddress } from "./page-address.ts";

/** What a page says of itself to those who cite, share or index it. */
export interface PagePublication {
  citation: PageCitation;
  /** Text of a script element. */
  linkedData: string;
  /** Address of the card shown where the page is shared; null without a site address, as it must be whole. */
  card: string | null;
  /** Name of the file that holds the whole report, beside the page. */
  singleFile: string;
}

export const cardFile = "card.png";

/** Not the page's own name for any id, and told from another report's once it was sent around. */
export function nameSingleFile(id: string): string {
  return `${id}-report.html`;
}

export function makePublication(
  results: TrainResults,
  site: SiteRecord,
  description: string,
): PagePublication {
  const sha256 = createHash("sha256")
    .update(`${writeJsonText(results)}\n`)
    .digest("hex");
  const address = joinTrainAddress(site, results.id);
  return {
    citation: makeCitation(results, site, sha256),
    linkedData: makeLinkedData(results, site, description),
    card: address === null ? null : `${address}${cardFile}`,
    singleFile: nameSingleFile(results.id),
  };
}
