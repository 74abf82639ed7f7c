/**
 * Fewest single-letter edits (put in, take out, replace, swap of neighbours) that turn one word into the other;
 * 0 for equal words. Source: Damerau 1964, Commun. ACM 7:171, in the restricted form (no letter is edited twice).
 */
export function countEdits(from: string, to: string): number {
  const width = to.length + 1;
  let before: number[] = [];
  let last = Array.from({ length: width }, (_, i) => i);
  for (let i = 1; i <= from.length; i++) {
    const row = [i];
    for (let j = 1; j < width; j++) {
      const same = from[i - 1] === to[j - 1];
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (same ? 0 : 1));
      const swapped = i > 1 && j > 1 && from[i - 1] === to[j - 2] && from[i - 2] === to[j - 1];
      if (swapped) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    before = last;
    last = row;
  }
  return last[to.length];
}

/** Longer words are never a slip of a known one; the bound also keeps the quadratic cost of a hostile key down. */
const longestCompared = 80;

/** The words ordered by how near they are to `word`, letter case aside; ties keep their order. */
export function sortByNearness(word: string, words: readonly string[]): string[] {
  const short = word.slice(0, longestCompared).toLowerCase();
  const ranked = words.map((other) => ({ other, edits: countEdits(short, other.toLowerCase()) }));
  return ranked.sort((a, b) => a.edits - b.edits).map(({ other }) => other);
}

/** The known word that `word` is a slip of, or null where none is near enough to be more help than harm. */
export function findNearest(word: string, words: readonly string[]): string | null {
  if (word.length > longestCompared) return null;
  const lower = word.toLowerCase();
  // A unit left off ("pixelPitch") or added is the commonest slip, and costs more letters than a typing error.
  const cut = words.filter((other) => startsEither(other.toLowerCase(), lower));
  if (cut.length > 0 && word.length >= 3) return sortByNearness(word, cut)[0];
  const [nearest] = sortByNearness(word, words);
  if (nearest === undefined) return null;
  return countEdits(lower, nearest.toLowerCase()) <= Math.max(1, Math.floor(word.length / 3))
    ? nearest
    : null;
}

function startsEither(a: string, b: string): boolean {
  return a.startsWith(b) || b.startsWith(a);
}
