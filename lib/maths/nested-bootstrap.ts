import {
  type BootstrapInterval,
  type BootstrapOptions,
  defaultConfidence,
  defaultResamples,
  makeUndetermined,
  type Statistic,
  summarize,
} from "./bootstrap.ts";
import { computeFisherTail, computeNormalQuantile, computeStudentQuantile } from "./distributions.ts";
import { drawIndex, type Random } from "./random.ts";
import { sortFinite } from "./statistics.ts";

/**
 * Two-level bootstrap for values in groups (stars in frames, frames in nights): draws groups with replacement, then members
 * with replacement within each group drawn, pools them and takes the statistic (Davison & Hinkley 1997, Bootstrap Methods
 * and their Application, 3.8). The interval carries the scatter within the groups and that between them.
 *
 * The bare method counts the scatter within groups twice and that between few groups too low, so the interval is stretched to
 * the right width: where the groups differ by more than chance (F test at 40 %, the "sometimes pool" rule of Bancroft 1964,
 * Biometrics 20:427) to that of the jackknife over groups with Student's t for their number, else to that of the members.
 *
 * One group: the percentile bootstrap, which tells nothing of scatter between groups, stretched for the number of members
 * (Hesterberg 2015, American Statistician 69:371, the expanded percentile interval). Members of different groups are
 * taken to be independent: a star's own oddity that recurs in every frame is not averaged down by more frames, so average such
 * stars over the frames first.
 *
 * @param groups - values of each group; NaN and infinities count as absent, groups left empty are left out
 */
export function bootstrapNested(
  groups: readonly ArrayLike<number>[],
  statistic: Statistic,
  options: BootstrapOptions,
): BootstrapInterval {
  const kept = groups.map(sortFinite).filter((group) => group.length > 0);
  const resamples = options.resamples ?? defaultResamples;
  const confidence = options.confidence ?? defaultConfidence;
  const value = statistic(poolGroups(kept));
  const all = kept.map((_, index) => index);
  // One value is no sample: its resamples would all be alike and the interval would claim certainty.
  if (kept.reduce((sum, group) => sum + group.length, 0) < 2) return makeUndetermined(value);
  const within = drawReplicates(kept, statistic, options.random, resamples, () => all);
  // With one group there is nothing to draw: both levels are the same.
  const nested =
    kept.length < 2
      ? within
      : drawReplicates(kept, statistic, options.random, resamples, () =>
          all.map(() => drawIndex(options.random, kept.length)),
        );
  const bare = summarize(value, nested, confidence);
  const target = estimateSpread(
    kept,
    statistic,
    summarize(value, within, confidence).standardError,
    confidence,
  );
  const stretch = target.halfWidth / (computeNormalQuantile(0.5 + confidence / 2) * bare.standardError);
  if (!Number.isFinite(stretch)) return bare;
  return {
    value,
    lo: value + (bare.lo - value) * stretch,
    hi: value + (bare.hi - value) * stretch,
    standardError: target.standardError,
  };
}

function drawReplicates(
  groups: readonly Float64Array[],
  statistic: Statistic,
  random: Random,
  resamples: number,
  chooseGroups: () => readonly number[],
): Float64Array {
  const largest = groups.reduce((size, group) => Math.max(size, group.length), 0);
  const drawn = new Float64Array(largest * groups.length);
  return Float64Array.from({ length: resamples }, () => {
    let size = 0;
    for (const index of chooseGroups()) {
      const group = groups[index];
      for (let member = 0; member < group.length; member++)
        drawn[size++] = group[drawIndex(random, group.length)];
    }
    return statistic(drawn.slice(0, size));
  });
}

/**
 * Chosen by simulation of 2 to 8 frames with 15 stars: covers 91 to 97 % whatever the scatter between frames, where 25 %
 * covers as little as 89 % for three frames that differ slightly.
 */
const poolingLevel = 0.4;

/** Standard error and half-width that the interval should have, from the members' scatter and from the jackknife over groups. */
function estimateSpread(
  groups: readonly Float64Array[],
  statistic: Statistic,
  withinError: number,
  confidence: number,
): { standardError: number; halfWidth: number } {
  const count = groups.length;
  const members = groups.reduce((sum, group) => sum + group.length, 0);
  const membersFreedom = members - count;
  // A resample scatters less than the population by (m - 1) / m.
  const within = (withinError ** 2 * members) / Math.max(1, membersFreedom);
  const tail = 0.5 + confidence / 2;
  if (count < 2) {
    const standardError = Math.sqrt(within);
    return { standardError, halfWidth: standardError * computeStudentQuantile(tail, membersFreedom) };
  }
  const left = groups.map((_, index) =>
    statistic(poolGroups(groups.filter((_group, other) => other !== index))),
  );
  const middle = left.reduce((sum, replicate) => sum + replicate, 0) / count;
  const between = ((count - 1) / count) * left.reduce((sum, replicate) => sum + (replicate - middle) ** 2, 0);
  // Groups of one member each have no scatter of their own to test against.
  const differ =
    membersFreedom < 1 || computeFisherTail(between / within, count - 1, membersFreedom) < poolingLevel;
  const variance = differ
    ? between
    : (between * (count - 1) + within * membersFreedom) / (count - 1 + membersFreedom);
  const freedom = differ ? count - 1 : count - 1 + membersFreedom;
  const standardError = Math.sqrt(variance);
  return { standardError, halfWidth: standardError * computeStudentQuantile(tail, freedom) };
}

function poolGroups(groups: readonly Float64Array[]): Float64Array {
  const pooled = new Float64Array(groups.reduce((sum, group) => sum + group.length, 0));
  let place = 0;
  for (const group of groups) {
    pooled.set(group, place);
    place += group.length;
  }
  return pooled;
}
