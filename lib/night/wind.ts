import { bootstrapBca } from "../maths/bootstrap.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { makeRandom } from "../maths/random.ts";
import { mean, quantile } from "../maths/statistics.ts";
import { cutWindows, groupSpans, splitWindow } from "./exposure-windows.ts";
import type { GuidingSpan } from "./guiding.ts";
import type { NightLog } from "./read-log.ts";

/** Mean speed of one span of the night, m/s. */
export interface WindSpan {
  /** Middle of the span, s since the log's first sample. */
  timeS: number;
  speed: number;
}

export interface WindMeasures {
  /** Mean speed over the log, m/s. */
  mean: Quantity;
  /** The speed that one sample in twenty exceeds, m/s. */
  gusts: Quantity;
  spans: WindSpan[];
}

/** Pieces that the intervals are drawn from: gusts last a few seconds to a minute, so neighbours are not independent (chosen). */
const pieces = 12;
/** Most samples that intervals are drawn from; of a longer log every second, third and so on is taken (chosen). */
const mostSamples = 5000;
/** Fewest spans that a rank correlation is told from. */
const fewestPairs = 8;

/** What the wind's log says; intervals drawn over twelve pieces of the night (block bootstrap). */
export function measureWind(log: NightLog, exposureS: number, seed: number): WindMeasures {
  const whole = log.columns["speed_m_s"];
  const every = Math.ceil(whole.length / mostSamples);
  const speeds = whole.filter((_, k) => k % every === 0);
  const blocks = splitWindow({ from: 0, to: speeds.length }, pieces);
  const state = (statistic: (values: Float64Array) => number): Quantity => {
    if (speeds.length < 2 * pieces)
      return makeUnknown("m/s", `The log has ${speeds.length} samples; at least ${2 * pieces} are wanted.`);
    const { value, lo, hi } = bootstrapBca(
      blocks.length,
      (members) =>
        statistic(
          Float64Array.from(
            Array.from(members).flatMap((k) => Array.from(speeds.subarray(blocks[k].from, blocks[k].to))),
          ),
        ),
      { random: makeRandom(seed), resamples: 400 },
    );
    return makeMeasured(value, "m/s", lo, hi, speeds.length);
  };
  return {
    mean: state(mean),
    gusts: state((values) => quantile(values, 0.95)),
    spans: groupSpans(cutWindows(log.timeS, exposureS)).map((group) => {
      const [from, to] = [group[0].from, group[group.length - 1].to];
      return {
        timeS: (log.timeS[from] + log.timeS[to - 1]) / 2 - log.timeS[0],
        speed: mean(whole.subarray(from, to)),
      };
    }),
  };
}

/** Ranks from 1 on; equal values share the mean of theirs. */
function rankValues(values: readonly number[]): number[] {
  return values.map((value) => {
    const below = values.filter((other) => other < value).length;
    const equal = values.filter((other) => other === value).length;
    return below + (equal + 1) / 2;
  });
}

/** Correlation of the ranks (Spearman 1904, Am. J. Psychol. 15:72); NaN where one side does not vary. */
export function correlateRanks(one: readonly number[], other: readonly number[]): number {
  const [a, b] = [rankValues(one), rankValues(other)];
  const middle = (a.length + 1) / 2;
  let [ab, aa, bb] = [0, 0, 0];
  for (let k = 0; k < a.length; k++) {
    ab += (a[k] - middle) * (b[k] - middle);
    aa += (a[k] - middle) ** 2;
    bb += (b[k] - middle) ** 2;
  }
  return ab / Math.sqrt(aa * bb);
}

/**
 * Whether the guiding error grows with the wind: rank correlation of both over the spans, with the interval of its
 * Fisher transform, of standard error 1.03 / sqrt(n - 3) (Fieller, Hartley & Pearson 1957, Biometrika 44:470). Both logs
 * must count time from the same moment.
 */
export function relateWind(guiding: readonly GuidingSpan[], wind: readonly WindSpan[]): Quantity {
  const pairs = guiding.flatMap(({ timeS, raArcsec, decArcsec }) => {
    const near = wind.find((span) => Math.abs(span.timeS - timeS) < 1 + 0.25 * findStep(wind));
    return near === undefined ? [] : [{ speed: near.speed, error: Math.hypot(raArcsec, decArcsec) }];
  });
  if (pairs.length < fewestPairs)
    return makeUnknown(
      "ratio",
      `The logs share ${pairs.length} exposures; at least ${fewestPairs} are wanted.`,
    );
  const rho = correlateRanks(
    pairs.map(({ speed }) => speed),
    pairs.map(({ error }) => error),
  );
  const held = Math.max(-0.999, Math.min(0.999, rho));
  const reach = (1.96 * 1.03) / Math.sqrt(pairs.length - 3);
  const [lo, hi] = [-1, 1].map((side) => Math.tanh(Math.atanh(held) + side * reach));
  return makeMeasured(rho, "ratio", lo, hi, pairs.length, {
    source: "Spearman 1904; Fieller, Hartley & Pearson 1957, Biometrika 44:470",
    assumes: "Both logs count their time from the same moment.",
  });
}

function findStep(spans: readonly WindSpan[]): number {
  return spans.length > 1 ? (spans[spans.length - 1].timeS - spans[0].timeS) / (spans.length - 1) : 0;
}
