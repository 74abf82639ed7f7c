import { makeCellIndex } from "../stars/cell-index.ts";
import { LEVEL_STEPS, listQuads, mirrorQuads } from "./list-quads.ts";
import { type Proposal, proposeSimilarities } from "./propose-similarities.ts";
import { mirrorList, type SkyList } from "./sky-list.ts";
import { computeLogChance, growMatch, tryProposal, type VerifyingDesk } from "./verify-proposal.ts";

/** The stars that two frames have in common. */
export interface StarMatch {
  /** Places in the lists of a and b of each common star. */
  pairs: [number, number][];
  /** One frame shows the sky as in a mirror of the other: an odd number of mirrors more on one side. */
  mirrored: boolean;
  /** Natural logarithm of the chance that two unrelated fields look as alike, everything tried counted in. */
  logFalseAlarm: number;
  /** Distance within which stars were paired, px of b. */
  radiusPx: number;
}

/** Why no match is given. */
export interface NoMatch {
  reason: "tooFewStars" | "noOverlap";
  /** Usable stars of a and b. */
  stars: [number, number];
}

/** A match is believed when unrelated fields would bring it about less than once in a million trials. */
export const largestFalseAlarm = 1e-6;
/** A figure of four and four more that confirm it. */
export const fewestStars = 8;
/** Proposals followed, the most agreed-on first. Those beyond have no other that agrees with them. */
const mostTried = 4000;

/**
 * Finds the stars that two frames have in common without a catalogue and without any word on scale, turn or pointing:
 * magnification 0.3 to 3, any turn and shift, mirrored or not, different depth.
 *
 * Figures of four neighbouring stars are compared by a code that does not change under shift, turn and scale (Lang et
 * al. 2010, AJ 139:1782); each agreement proposes a similarity, which further stars must confirm: first around the
 * figure, then over the whole field with a map that takes in distortion. What is accepted has a stated chance of being
 * false. Positions that are not finite must not be in the lists.
 */
export function matchStars(a: SkyList, b: SkyList): StarMatch | NoMatch {
  const stars: [number, number] = [a.x.length, b.x.length];
  if (Math.min(...stars) < fewestStars) return { reason: "tooFewStars", stars };
  const views = [false, true].map((mirrored) => {
    const from = mirrored ? mirrorList(a) : a;
    return { mirrored, desk: { from, to: b, index: makeCellIndex(b.x, b.y, 16) } };
  });
  for (const deepest of LEVEL_STEPS) {
    const found = searchMatch(views, deepest);
    if (found !== null) return found;
    if (Math.max(...stars) <= deepest) break;
  }
  return { reason: "noOverlap", stars };
}

/** Both ways round, the proposals that most others agree with first. */
function searchMatch(
  views: readonly { mirrored: boolean; desk: VerifyingDesk }[],
  deepest: number,
): StarMatch | null {
  const [plain, mirror] = views;
  const toQuads = listQuads(plain.desk.to, deepest);
  const quads = listQuads(plain.desk.from, deepest);
  const proposed = [
    { ...plain, quads },
    { ...mirror, quads: mirrorQuads(quads) },
  ].flatMap(({ mirrored, desk, quads: fromQuads }) =>
    proposeSimilarities(desk.from, fromQuads, desk.to, toQuads).map((proposal) => ({
      proposal,
      mirrored,
      desk,
    })),
  );
  proposed.sort((left, right) => right.proposal.votes - left.proposal.votes);
  for (const { proposal, mirrored, desk } of proposed.slice(0, mostTried)) {
    const found = follow(desk, proposal, proposed.length * LEVEL_STEPS.length);
    if (found !== null) return { ...found, mirrored };
  }
  return null;
}

function follow(desk: VerifyingDesk, proposal: Proposal, tried: number): Omit<StarMatch, "mirrored"> | null {
  const start = tryProposal(desk, proposal);
  if (start === null) return null;
  const grown = growMatch(desk, start);
  if (grown === null) return null;
  const logFalseAlarm = computeLogChance(desk, grown) + Math.log(tried);
  if (logFalseAlarm > Math.log(largestFalseAlarm)) return null;
  return { pairs: grown.pairs, logFalseAlarm, radiusPx: grown.radiusPx };
}

export function isMatch(found: StarMatch | NoMatch): found is StarMatch {
  return "pairs" in found;
}
