import type { Disclosure } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import { readTrainRecord } from "./describe-train.ts";

/** How the equipment came to the author and who had a say in the text. */
export interface PageDisclosure {
  /** In one line, for the top of the page. */
  short: string;
  sentences: string[];
  /** Nothing is on record. */
  isSilent: boolean;
}

const ways: Record<Disclosure["obtained"], string> = {
  bought: "The equipment was bought new",
  boughtUsed: "The equipment was bought second-hand",
  lent: "The equipment was lent",
  given: "The equipment was given to the author",
  builtByAuthor: "The author built the equipment",
  clubOwned: "The equipment belongs to the club",
};

/** "lent by", "bought new from": the word before whom it came from. */
const sources: Record<Disclosure["obtained"], string> = {
  bought: " from ",
  boughtUsed: " from ",
  lent: " by ",
  given: " by ",
  builtByAuthor: ", with help from ",
  clubOwned: ", which had it from ",
};

const says: Record<Disclosure["say"], string> = {
  nobody: "Nobody but the author had a say in the text.",
  factsChecked:
    "A maker or dealer checked facts before the text appeared; what it concludes is the author’s alone.",
  approved: "A maker or dealer approved the text before it appeared.",
};

const endSentence = (text: string) => (/[.!?]$/.test(text) ? text : `${text}.`);

/** The disclosure in plain sentences; where the record has none, that is said. */
export function makeDisclosureSection(results: TrainResults): PageDisclosure {
  const { disclosure } = readTrainRecord(results);
  if (disclosure === undefined) {
    const silence = "How the equipment came to the author, and who had a say in the text, is not on record.";
    return { short: "No disclosure on record.", sentences: [silence], isSilent: true };
  }
  const { obtained, from, goesBack, copies, say, readBy, ties } = disclosure;
  const came = `${ways[obtained]}${from === undefined ? "" : `${sources[obtained]}${from}`}`;
  const sentences = [
    endSentence(came),
    ...(goesBack === undefined
      ? []
      : [goesBack ? "It goes back after the test." : "It stays with the author."]),
    ...(copies === undefined
      ? []
      : [copies === 1 ? "One copy was tested; others may differ." : `${copies} copies were tested.`]),
    says[say],
    ...(readBy === undefined || readBy.length === 0
      ? []
      : [endSentence(`It was read before it appeared by ${readBy.join(", ")}`)]),
    ...(ties === undefined ? [] : [`Ties to a maker or dealer: ${endSentence(ties)}`]),
  ];
  return { short: `${endSentence(ways[obtained])} ${says[say]}`, sentences, isSilent: false };
}
