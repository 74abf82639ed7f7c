import { makeMeasured } from "../maths/quantity.ts";
import type { Finding, TestResults } from "./results.ts";
import { isKnown, stateChange } from "./state-quantity.ts";

function listSpacers(test: TestResults): string {
  const spacers = test.record.spacersMm;
  if (spacers === null) return "";
  return spacers.length === 0 ? " (no spacer)" : ` (${spacers.join(" + ")} mm)`;
}

/** Corner width over centre now against the test before: the two nights' seeing is in neither ratio. */
export function findChange(tests: readonly TestResults[], all: readonly TestResults[]): Finding[] {
  const [before, now] = tests.slice(-2);
  if (before === undefined || now === undefined) return [];
  const [old, fresh] = [before.contrasts?.overCentre.corner, now.contrasts?.overCentre.corner];
  if (!isKnown(old) || !isKnown(fresh)) return [];
  const change = fresh.value / old.value;
  const down = Math.hypot(Math.log(fresh.value / fresh.lo), Math.log(old.hi / old.value));
  const up = Math.hypot(Math.log(fresh.hi / fresh.value), Math.log(old.value / old.lo));
  const ratio = makeMeasured(
    change,
    "ratio",
    change * Math.exp(-down),
    change * Math.exp(up),
    fresh.n + old.n,
  );
  if (!isKnown(ratio)) return [];
  const times = `from ${before.date}${listSpacers(before)} to ${now.date}${listSpacers(now)}`;
  const evidence = [before, now].map((test) => `tests.${all.indexOf(test)}.contrasts.overCentre.corner`);
  if (ratio.lo <= 1 && ratio.hi >= 1) {
    const sentence = `The corners' width over the centre's did not change beyond the interval ${times}: ${stateChange(ratio)}.`;
    return [{ name: "change", level: "note", sentence, evidence, action: null }];
  }
  const better = ratio.value < 1;
  const size = better
    ? stateChange({ ...ratio, value: 2 - ratio.value, lo: 2 - ratio.hi, hi: 2 - ratio.lo })
    : stateChange(ratio);
  return [
    {
      name: "change",
      level: better ? "note" : "watch",
      sentence: `The corners' width over the centre's ${better ? "fell" : "rose"} by ${size} ${times}.`,
      evidence,
      action: better ? null : "Go back to the state before, or on in the other direction.",
    },
  ];
}
