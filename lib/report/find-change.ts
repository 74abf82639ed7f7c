import { formatDate } from "../maths/format-date.ts";
import { makeMeasured } from "../maths/quantity.ts";
import { isKnown, stateChange } from "../maths/state-quantity.ts";
import type { Finding, TestResults } from "./results.ts";

function listSpacers(test: TestResults): string {
  const spacers = test.record.spacersMm ?? [];
  return spacers.length === 0 ? "none" : `${spacers.join(" + ")} mm`;
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
  const spacers = [listSpacers(before), listSpacers(now)];
  const states =
    spacers[0] === spacers[1] || before.record.spacersMm === null || now.record.spacersMm === null
      ? ""
      : `, spacers ${spacers[0]} before and ${spacers[1]} now`;
  const times = `from ${formatDate(before.date)} to ${formatDate(now.date)}${states}`;
  const evidence = [before, now].map((test) => `tests.${all.indexOf(test)}.contrasts.overCentre.corner`);
  if (ratio.lo <= 1 && ratio.hi >= 1) {
    const sentence = `Measured against the centre, the corners' stars did not change beyond the interval ${times}: ${stateChange(ratio)}.`;
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
      sentence: `Measured against the centre, the corners' stars became ${size} ${better ? "narrower" : "wider"} ${times}.`,
      evidence,
      action: better ? null : "Go back to the state before, or on in the other direction.",
    },
  ];
}
