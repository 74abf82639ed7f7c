import { makeCellIndex } from "./cell-index.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** The columns needed; a StarTable and Candidates both have them. */
export interface PlacedStars {
  xPx: Float64Array;
  yPx: Float64Array;
  fluxAdu: Float64Array;
  flags: Uint16Array;
}

/** What the mount did: every star once more at the same offset. */
export interface TrackingJump {
  /** From the brighter to the fainter image of a star, px, y down. */
  dxPx: number;
  dyPx: number;
  /** Light of the fainter over the brighter image: the shorter over the longer stay. */
  ratio: number;
  pairs: number;
}

/** Stars looked at, the brightest: their second images are above the threshold too. */
const MOST_STARS = 1500;
/** Farthest jump looked for, px; farther pairs of strangers are too many. */
const FARTHEST_PX = 60;
/** A jump shows in at least this share of the stars looked at. */
const LEAST_SHARE = 0.3;
const FEWEST_PAIRS = 12;
/** Pairs of one jump agree in offset within this part of a FWHM, and in ln(light ratio) within this. */
const PLACE_TOLERANCE_FWHM = 0.35;
const LIGHT_TOLERANCE = 0.35;
/** Smallest excess over chance, in sigmas of the number chance brings. */
const LEAST_EXCESS_SIGMAS = 8;

interface Pair {
  /** Brighter and fainter row. */
  a: number;
  b: number;
  dx: number;
  dy: number;
  lightLog: number;
}

function listPairs(stars: PlacedStars, rows: readonly number[], leastPx: number): Pair[] {
  const x = Float64Array.from(rows, (i) => stars.xPx[i]);
  const y = Float64Array.from(rows, (i) => stars.yPx[i]);
  const index = makeCellIndex(x, y, FARTHEST_PX);
  const pairs: Pair[] = [];
  rows.forEach((a, k) => {
    index.visit(x[k], y[k], FARTHEST_PX, (other) => {
      const b = rows[other];
      const [dx, dy] = [x[other] - x[k], y[other] - y[k]];
      // Rows are sorted by light: each pair once, from the brighter.
      if (other <= k || Math.hypot(dx, dy) < leastPx) return;
      pairs.push({ a, b, dx, dy, lightLog: Math.log(stars.fluxAdu[b] / stars.fluxAdu[a]) });
    });
  });
  return pairs;
}

/** Pairs alike in offset and light ratio; with equal images brighter and fainter may be swapped, hence the mirror. */
function gatherAlike(
  pairs: readonly Pair[],
  of: { dx: number; dy: number; lightLog: number },
  tolerancePx: number,
) {
  const near = (p: Pair, sign: number) =>
    Math.hypot(p.dx - sign * of.dx, p.dy - sign * of.dy) <= tolerancePx &&
    Math.abs(p.lightLog - (sign === 1 ? of.lightLog : -of.lightLog)) <= LIGHT_TOLERANCE;
  return pairs.filter((p) => near(p, 1) || near(p, -1));
}

/**
 * Finds frames on which the mount jumped during the exposure, so that every star is drawn twice with one offset and one
 * ratio of light, and sets STAR_FLAGS.trailedDouble on both images of each. Null, and nothing flagged, where pairs at one
 * offset are no more than strangers and true double stars bring about: fewer than 12, under 30 % of the brighter stars,
 * or within 8 sigmas of chance, which is measured in the same frame at all other offsets.
 */
export function flagTrailedDoubles(stars: PlacedStars, fwhmPx: number): TrackingJump | null {
  const unusable = STAR_FLAGS.spike | STAR_FLAGS.trail | STAR_FLAGS.failed;
  const rows = Array.from(stars.xPx.keys())
    .filter((i) => (stars.flags[i] & unusable) === 0 && stars.fluxAdu[i] > 0 && Number.isFinite(stars.xPx[i]))
    .sort((a, b) => stars.fluxAdu[b] - stars.fluxAdu[a]);
  const bright = rows.slice(0, Math.min(MOST_STARS, rows.length));
  if (bright.length < 2 * FEWEST_PAIRS) return null;
  const tolerancePx = Math.max(0.5, PLACE_TOLERANCE_FWHM * fwhmPx);
  const pairs = listPairs(stars, bright, Math.max(1.5, 0.9 * fwhmPx));
  const best = findCommonOffset(pairs, tolerancePx);
  if (best === null) return null;
  const alike = gatherAlike(pairs, best, tolerancePx);
  const area = Math.PI * FARTHEST_PX ** 2;
  const lightSpan = 3;
  const chance =
    (pairs.length * 2 * Math.PI * tolerancePx ** 2 * Math.min(1, (2 * LIGHT_TOLERANCE) / lightSpan)) / area;
  const enough = Math.max(
    FEWEST_PAIRS,
    (LEAST_SHARE * bright.length) / 2,
    chance + LEAST_EXCESS_SIGMAS * Math.sqrt(chance),
  );
  if (alike.length < enough) return null;
  const everyPair = gatherAlike(listPairs(stars, rows, Math.max(1.5, 0.9 * fwhmPx)), best, tolerancePx);
  for (const { a, b } of everyPair) {
    stars.flags[a] |= STAR_FLAGS.trailedDouble;
    stars.flags[b] |= STAR_FLAGS.trailedDouble;
  }
  return { dxPx: best.dx, dyPx: best.dy, ratio: Math.exp(best.lightLog), pairs: everyPair.length };
}

/** Offset and light ratio about which most pairs gather: the fullest cell of a coarse histogram, then its mean. */
function findCommonOffset(pairs: readonly Pair[], tolerancePx: number) {
  const cells = new Map<string, Pair[]>();
  for (const pair of pairs) {
    // Offsets half a cell apart are counted twice over, so that no crowd is cut in four by cell walls.
    for (const shift of [0, 0.5]) {
      const column = Math.floor(pair.dx / (2 * tolerancePx) + shift);
      const row = Math.floor(pair.dy / (2 * tolerancePx) + shift);
      const key = `${shift},${column},${row}`;
      const cell = cells.get(key);
      if (cell === undefined) cells.set(key, [pair]);
      else cell.push(pair);
    }
  }
  let fullest: Pair[] = [];
  for (const cell of cells.values()) if (cell.length > fullest.length) fullest = cell;
  if (fullest.length < FEWEST_PAIRS / 2) return null;
  const middle = (values: number[]) => values.sort((p, q) => p - q)[values.length >> 1];
  return {
    dx: middle(fullest.map(({ dx }) => dx)),
    dy: middle(fullest.map(({ dy }) => dy)),
    lightLog: middle(fullest.map(({ lightLog }) => lightLog)),
  };
}
