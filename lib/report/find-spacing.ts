import { formatDate } from "../maths/format-date.ts";
import { isKnown } from "../maths/state-quantity.ts";
import type { TrainEntry } from "../records/types.ts";
import { adviseSpacing } from "../train/advise-spacing.ts";
import type { Finding, TrainResults } from "./results.ts";

const write = (mm: number) => `${Math.abs(mm).toFixed(2)} mm`;

/** What the record's own arithmetic says of the distance from corrector to sensor, for the latest state of the stack. */
export function findSpacing(train: TrainEntry, results: TrainResults): Finding[] {
  if (train.record.corrector === null) return [];
  const index = results.tests.length - 1;
  const latest = train.tests.find((test) => test.id === results.tests[index]?.id);
  const error = results.tests[index]?.spacingError ?? results.backFocus?.spacingError ?? null;
  if (!isKnown(error)) return [];
  const most = train.record.tolerances.spacingErrorMm;
  const state =
    latest === undefined ? "The stack on record" : `The stack of ${formatDate(latest.record.date)}`;
  const side = error.value > 0 ? "too far from" : "too close to";
  const off = Math.abs(error.value);
  const evidence = [index >= 0 ? `tests.${index}.spacingError` : "backFocus.spacingError", "backFocus"];
  const place =
    off < 0.005
      ? `${state} puts the sensor at the corrector's required back focus, glass counted in`
      : `${state} puts the sensor ${write(error.value)} ${side} the corrector by the lengths and glass on record`;
  const advice = adviseSpacing(train.record, latest?.record);
  if (most === undefined)
    return [
      {
        name: "spacing-by-records",
        level: "note",
        sentence: `${place}.`,
        evidence,
        action: advice?.sentence ?? null,
      },
    ];
  const good = off <= most;
  return [
    {
      name: "spacing-by-records",
      level: good ? "pass" : "fail",
      sentence: `${place}, ${good ? "within" : "beyond"} the ${write(most)} allowed.`,
      evidence,
      action: good ? null : (advice?.sentence ?? null),
    },
  ];
}
