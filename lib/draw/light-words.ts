import type { TestResults, TrainResults } from "../report/results.ts";
import { isKnown } from "./words.ts";

export type Light = NonNullable<TestResults["illumination"]>[string];

/** The channel that stands for the light: the only one, green, or the first; null without flats. */
export function pickLight(test: TestResults): { channel: string; light: Light } | null {
  const channels = Object.keys(test.illumination ?? {});
  const channel =
    test.lightCause?.channel ?? ["L", "G"].find((name) => channels.includes(name)) ?? channels[0];
  const light = channel === undefined ? undefined : test.illumination?.[channel];
  return light === undefined ? null : { channel, light };
}

/** Light is drawn for every test with flats; without any flats, what the rings foretell is drawn for the latest test. */
export function showsLight(results: TrainResults, testIndex: number): boolean {
  const test = results.tests[testIndex];
  if (test.illumination !== null) return true;
  const some = results.tests.some(({ illumination }) => illumination !== null);
  return !some && test.rings !== null && testIndex === results.tests.length - 1;
}

const percent = (value: number) => `${value.toFixed(value >= 99 ? 1 : 0)}\u00a0%`;

/** What the light's profile shows, as a title. */
export function tellLight(test: TestResults): string {
  const measured = pickLight(test)?.light.cornerMean;
  const { rings, lightCause } = test;
  if (!isKnown(measured)) {
    if (rings === null || !isKnown(rings.together)) return "Nothing on record tells how light falls off";
    return rings.limitingRing === null
      ? "By the record every ring passes the corners’ light"
      : `By the record the rings leave ${percent(rings.together.value)} of the light in the corners`;
  }
  const keeps = percent(measured.value);
  switch (lightCause?.class) {
    case "rings":
    case "ringsAndTelescope":
      return rings?.limitingRing == null
        ? `The corners keep ${keeps} of the light`
        : `A ring darkens the corners to ${keeps}: the ${cutName(rings.limitingRing)}`;
    case "telescope":
      return `The corners keep ${keeps} of the light, and the rings pass all of it`;
    case "brighterThanRecords":
      return `The corners keep ${keeps}, more than the rings on record would leave`;
    default:
      return `The corners keep ${keeps} of the light`;
  }
}

/** A part's name cut to what a title can bear. */
export function cutName(name: string): string {
  return name.length > 40 ? `${name.slice(0, 39)}…` : name;
}
