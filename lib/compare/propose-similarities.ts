import type { Quads } from "./list-quads.ts";
import { fitSimilarity, type Similarity } from "./similarity.ts";
import type { SkyList } from "./sky-list.ts";

/** A figure of one list that looks like one of the other, and the similarity that lays them on each other. */
export interface Proposal {
  map: Similarity;
  /** Places of the four stars in both lists. */
  pairs: [number, number][];
  /** Proposals that agree with this one, itself included. */
  votes: number;
}

/** Largest and smallest magnification looked for: 0.3 to 3, and a little beyond. */
const scaleLimits = [0.27, 3.7] as const;
/**
 * How far codes of one figure may differ: 0.005 for the optics' distortion within it, and half a pixel in either list
 * over its size for the positions; never more than a cell of the table.
 */
const distortionTolerance = 0.005;
const positionTolerancePx = 0.5;
const cellSize = 0.02;
/** A power of two: slots of the hash table. */
const slots = 1 << 16;

function hashCell(i: number, j: number, k: number, l: number): number {
  let word =
    Math.imul(i, 0x9e3779b1) ^ Math.imul(j, 0x85ebca6b) ^ Math.imul(k, 0xc2b2ae35) ^ Math.imul(l, 0x27d4eb2f);
  word = Math.imul(word ^ (word >>> 15), 0x2c1b3c6d);
  return (word ^ (word >>> 13)) & (slots - 1);
}

/** Quads by the cell of their code: `first[slot]`, then `next[quad]`, -1 at the end. */
function tabulateCodes(quads: Quads): { first: Int32Array; next: Int32Array } {
  const first = new Int32Array(slots).fill(-1);
  const next = new Int32Array(quads.sizes.length).fill(-1);
  for (let quad = 0; quad < quads.sizes.length; quad++) {
    const at = 4 * quad;
    const slot = hashCell(
      Math.floor(quads.codes[at] / cellSize),
      Math.floor(quads.codes[at + 1] / cellSize),
      Math.floor(quads.codes[at + 2] / cellSize),
      Math.floor(quads.codes[at + 3] / cellSize),
    );
    next[quad] = first[slot];
    first[slot] = quad;
  }
  return { first, next };
}

type Code = ArrayLike<number>;

/** The code, and what it would be with C and D or A and B exchanged where the other figure may have settled them so. */
function listVariants(code: Code, reach: number): { code: Code; order: readonly number[] }[] {
  const [cx, cy, dx, dy] = [code[0], code[1], code[2], code[3]];
  const nearSwap = Math.abs(cx - dx) < 2 * reach;
  const nearTurn = Math.abs(cx + dx - 1) < 2 * reach;
  const variants: { code: Code; order: readonly number[] }[] = [{ code, order: [0, 1, 2, 3] }];
  if (nearSwap) variants.push({ code: [dx, dy, cx, cy], order: [0, 1, 3, 2] });
  if (nearTurn) {
    variants.push({ code: [1 - dx, -dy, 1 - cx, -cy], order: [1, 0, 3, 2] });
    if (nearSwap) variants.push({ code: [1 - cx, -cy, 1 - dx, -dy], order: [1, 0, 2, 3] });
  }
  return variants;
}

/**
 * Every pair of figures, one of each list, whose codes agree, as a similarity from `from` to `to`. Those that many
 * others agree with come first.
 */
export function proposeSimilarities(
  from: SkyList,
  fromQuads: Quads,
  to: SkyList,
  toQuads: Quads,
): Proposal[] {
  const table = tabulateCodes(toQuads);
  const proposals: Proposal[] = [];
  for (let quad = 0; quad < fromQuads.sizes.length; quad++) {
    const code = fromQuads.codes.subarray(4 * quad, 4 * quad + 4);
    const size = fromQuads.sizes[quad];
    const widest = Math.min(cellSize, distortionTolerance + (2 * positionTolerancePx) / Math.min(size, 100));
    for (const { code: variant, order } of listVariants(code, widest)) {
      for (const other of findAlike(variant, widest, toQuads, table)) {
        const scale = toQuads.sizes[other] / size;
        if (!(scale > scaleLimits[0] && scale < scaleLimits[1])) continue;
        const reach = distortionTolerance + positionTolerancePx * (1 / size + 1 / toQuads.sizes[other]);
        if (measureDistance(variant, toQuads.codes, 4 * other) > Math.min(cellSize, reach)) continue;
        const pairs = order.map((place, k): [number, number] => [
          fromQuads.stars[4 * quad + place],
          toQuads.stars[4 * other + k],
        ]);
        const map = fitSimilarity(from, to, pairs);
        if (map !== null) proposals.push({ map, pairs, votes: 1 });
      }
    }
  }
  return countVotes(proposals, from, to);
}

function measureDistance(code: Code, codes: Float64Array, at: number): number {
  return Math.hypot(
    code[0] - codes[at],
    code[1] - codes[at + 1],
    code[2] - codes[at + 2],
    code[3] - codes[at + 3],
  );
}

/** Quads of the table in and about a box of half side `reach` around a code, each once. */
function findAlike(
  code: Code,
  reach: number,
  quads: Quads,
  { first, next }: { first: Int32Array; next: Int32Array },
): number[] {
  const found: number[] = [];
  const low = (axis: number) => Math.floor((code[axis] - reach) / cellSize);
  const high = (axis: number) => Math.floor((code[axis] + reach) / cellSize);
  const [i1, j1, k1, l1] = [high(0), high(1), high(2), high(3)];
  const [j0, k0, l0] = [low(1), low(2), low(3)];
  const visited: number[] = [];
  for (let i = low(0); i <= i1; i++) {
    for (let j = j0; j <= j1; j++) {
      for (let k = k0; k <= k1; k++) {
        for (let l = l0; l <= l1; l++) {
          const slot = hashCell(i, j, k, l);
          // Two cells may share a slot of the table.
          if (visited.includes(slot)) continue;
          visited.push(slot);
          for (let quad = first[slot]; quad >= 0; quad = next[quad]) {
            if (Math.abs(quads.codes[4 * quad] - code[0]) <= reach) found.push(quad);
          }
        }
      }
    }
  }
  return found;
}

/** Two proposals agree when scale and turn differ by less than this and the middle of the frame falls nearly alike. */
const voteStep = 0.02;

/** Counts for each proposal how many fall into its cell of scale, turn and place, and sorts by that. */
function countVotes(proposals: Proposal[], from: SkyList, to: SkyList): Proposal[] {
  const middleX = from.x.reduce((sum, x) => sum + x, 0) / Math.max(1, from.x.length);
  const middleY = from.y.reduce((sum, y) => sum + y, 0) / Math.max(1, from.y.length);
  const placeStep = 2 * voteStep * Math.hypot(to.widthPx, to.heightPx);
  const cells = proposals.map(({ map }) => {
    const scale = Math.round(Math.log(Math.hypot(map.real, map.imaginary)) / voteStep);
    const turn = Math.round(Math.atan2(map.imaginary, map.real) / voteStep);
    const x = map.real * middleX - map.imaginary * middleY + map.shiftX;
    const y = map.imaginary * middleX + map.real * middleY + map.shiftY;
    return `${scale} ${turn} ${Math.round(x / placeStep)} ${Math.round(y / placeStep)}`;
  });
  const counts = new Map<string, number>();
  for (const cell of cells) counts.set(cell, (counts.get(cell) ?? 0) + 1);
  proposals.forEach((proposal, place) => {
    proposal.votes = counts.get(cells[place]) ?? 1;
  });
  return proposals.sort((left, right) => right.votes - left.votes);
}
