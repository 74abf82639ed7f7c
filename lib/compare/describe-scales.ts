import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import type { ScaleResults } from "../report/scale-results.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { fewestStars, type NoMatch } from "./match-stars.ts";
import { writeSmall } from "./write-small.ts";

function nameSide(side: ComparisonSide, letter: string): string {
  return side.test === null ? `Side ${letter} has no test yet` : `Side ${letter} has no star measured`;
}

/** Why no common stars were found, in one sentence. */
export function sayNoMatch(found: NoMatch, a: ComparisonSide, b: ComparisonSide): string {
  if (a.tables.length === 0) return `${nameSide(a, "A")}: the ratio cannot be measured.`;
  if (b.tables.length === 0) return `${nameSide(b, "B")}: the ratio cannot be measured.`;
  const [one, other] = found.stars;
  if (found.reason === "tooFewStars") {
    return `Matching needs ${fewestStars} stars on each side; A has ${one}, B has ${other}.`;
  }
  return `No figure of stars is common to both sides (${one} and ${other} stars searched): they do not show the same field, or share too few stars of it.`;
}

const write = (value: number, decimals: number) => value.toFixed(decimals).replace("-", "−");

/** Whether an interval holds zero. */
function holdsZero(quantity: KnownQuantity): boolean {
  return quantity.lo <= 0 && quantity.hi >= 0;
}

/** Chances smaller than this are no longer worth telling apart. */
const smallestTold = -12;

function sayStars(scales: ScaleResults): string {
  const log = scales.falseAlarmLog10 ?? 0;
  const chance =
    log < smallestTold ? "less than one in a million million" : `about 1 in ${(10 ** -log).toPrecision(1)}`;
  const pairs = scales.framePairs === 1 ? "one pair of frames" : `${scales.framePairs} pairs of frames`;
  return `${scales.commonStars} stars that both sides show give the ratio, in ${pairs}; the chance that unrelated fields look as alike is ${chance}.`;
}

function sayDistortion(scales: ScaleResults): string[] {
  const { distortion, cornerAngle } = scales;
  if (distortion.value === null || cornerAngle.value === null) return [];
  const at = `${write(cornerAngle.value, 2)} degrees from the axis`;
  if (holdsZero(distortion)) {
    const most = writeSmall(Math.max(Math.abs(distortion.lo), Math.abs(distortion.hi)));
    return [`The ratio holds over the whole field: ${at} it differs by at most ${most} %.`];
  }
  const way = distortion.value > 0 ? "larger" : "smaller";
  return [
    `The ratio is that of the focal lengths on the axis; ${at} distortion makes B's radii ${writeSmall(distortion.value)} % ${way} than it says.`,
  ];
}

function sayNominal(scales: ScaleResults, ratio: Quantity, nominal: Quantity): string[] {
  const { againstNominal } = scales;
  if (againstNominal.value === null || ratio.value === null || nominal.value === null) return [];
  if (holdsZero(againstNominal)) return [`It agrees with the nominal ratio of ${write(nominal.value, 4)}.`];
  const way = againstNominal.value > 0 ? "above" : "below";
  return [
    `It lies ${writeSmall(againstNominal.value)} % ${way} the nominal ratio of ${write(nominal.value, 4)}.`,
  ];
}

/** Plain sentences on where the ratio comes from and how far it holds. */
export function describeScales(scales: ScaleResults, ratio: Quantity, nominal: Quantity): string[] {
  const sentences: string[] = [];
  if (scales.from === "stars") sentences.push(sayStars(scales));
  if (scales.from === "plate solutions") {
    sentences.push(`The ratio is from plate solutions in the frames' headers. ${scales.why ?? ""}`.trim());
  }
  if (scales.from === "records") {
    sentences.push(`The ratio is that of the records and was not measured. ${scales.why ?? ""}`.trim());
  }
  sentences.push(...sayNominal(scales, ratio, nominal), ...sayDistortion(scales));
  if (scales.mirrored === true) {
    sentences.push(
      "One side shows the sky as in a mirror: a mirror or prism is in only one of the trains, or its frames were flipped. Left and right corners change places between the sides.",
    );
  }
  if (scales.stretch.value !== null && scales.stretchAngle.value !== null) {
    sentences.push(
      `B's scale is ${writeSmall(scales.stretch.value)} % larger along ${write(scales.stretchAngle.value, 0)} degrees than across, against A's: refraction at different altitudes does that.`,
    );
  }
  if (scales.reducer !== null) sentences.push(scales.reducer.sentence);
  return sentences;
}
