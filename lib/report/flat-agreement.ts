import { CORNERS } from "../field/geometry.ts";
import { makeMeasured, type Quantity } from "../maths/quantity.ts";
import { isKnown } from "../maths/state-quantity.ts";
import type { TestResults } from "./results.ts";

/** How well the flats of two nights agree, channel by channel. */
export interface FlatAgreement {
  a: string;
  b: string;
  channel: string;
  /** Root mean square and largest difference over the sensor, percent of the brightest, each map scaled to the same mean. */
  rms: Quantity;
  largest: Quantity;
  /** Mean of the corners, b minus a, percent of the brightest. */
  corners: Quantity;
}

/** Every test's flats against those of the test with flats before it. Where the stack was changed, that shows in the corners. */
export function compareNightsFlats(tests: readonly TestResults[]): FlatAgreement[] {
  const withFlats = tests.filter(({ illumination }) => illumination !== null);
  return withFlats.slice(1).flatMap((test, k) => {
    const before = withFlats[k];
    return Object.keys(test.illumination ?? {}).flatMap((channel) => {
      const [now, then] = [test.illumination?.[channel], before.illumination?.[channel]];
      if (now?.map === undefined || then?.map === undefined) return [];
      if (now.map.percent.length !== then.map.percent.length) return [];
      const mean = (values: readonly number[]) =>
        values.reduce((sum, value) => sum + value, 0) / values.length;
      const scale = mean(then.map.percent) / mean(now.map.percent);
      const differences = now.map.percent.map((value, i) => value * scale - then.map.percent[i]);
      const rms = Math.sqrt(mean(differences.map((value) => value ** 2)));
      const largest = Math.max(...differences.map(Math.abs));
      const n = now.map.percent.length;
      const corners = CORNERS.map((corner) => [now.corners[corner], then.corners[corner]] as const);
      const known = corners.flatMap(([late, early]) =>
        isKnown(late) && isKnown(early) ? [[late, early]] : [],
      );
      if (known.length < 4) return [];
      const change = mean(known.map(([late, early]) => late.value - early.value));
      const half = Math.max(
        ...known.map(([late, early]) => Math.hypot(late.hi - late.value, early.hi - early.value)),
      );
      return [
        {
          a: before.id,
          b: test.id,
          channel,
          rms: makeMeasured(rms, "percent", rms, rms, n),
          largest: makeMeasured(largest, "percent", largest, largest, n),
          corners: makeMeasured(change, "percent", change - half, change + half, 4),
        },
      ];
    });
  });
}
