import { nameSide } from "../maths/name-side.ts";
import { quantileOfSorted } from "../maths/statistics.ts";
import type { Corner, TestResults } from "../report/results.ts";
import { toEllipticity } from "./debias-ellipticity.ts";
import type { DiagnosisLimits } from "./diagnose.ts";
import { TERM } from "./field-model.ts";
import { makeTrackingReader, readSeeing } from "./field-results.ts";
import type { FieldFit } from "./fit-field.ts";
import { CORNERS } from "./geometry.ts";
import type { CornerVerdict } from "./judge-corners.ts";
import type { OrientedFields } from "./orient-fields.ts";
import type { WeighedTilt } from "./weigh-tilt.ts";

type Classes = NonNullable<TestResults["diagnosis"]>;

/** What the sentence is made from. */
export interface Found {
  fit: FieldFit;
  oriented: OrientedFields;
  limits: DiagnosisLimits;
  weighed: WeighedTilt;
  spacing: Classes["spacing"]["class"];
  /** Belief that the field is curved beyond the limit, whichever way. */
  isCurved: number;
  tilt: Classes["tilt"]["class"];
  tracking: Classes["tracking"]["class"];
  corners: Record<Corner, CornerVerdict>;
}

const cornerWords: Record<Corner, string> = {
  upperLeft: "upper left",
  upperRight: "upper right",
  lowerLeft: "lower left",
  lowerRight: "lower right",
};

function roundUm(um: number): string {
  return `${um < 10 ? um.toFixed(1) : Math.round(um)} um`;
}

/** The edge or corner of the sensor that a tilt points to. */
function nameTiltSide({ x, y }: { x: number; y: number }): string {
  return nameSide((Math.atan2(y, x) * 180) / Math.PI);
}

function describeSpacing({ fit, oriented, spacing, isCurved }: Found): string {
  const { best, rule, signKnown } = oriented;
  const fall = best[TERM.curvature] * fit.problem.halfDiagonalMm ** 2;
  const size = roundUm(Math.abs(fall));
  if (spacing === "tooClose" || spacing === "tooFar") {
    const where = spacing === "tooClose" ? "behind" : "in front of";
    const basis =
      rule === null
        ? ""
        : ` (going by ${rule.from === "ledger" ? "the ledger" : "the record"}: stars drawn out along the radius mean ${rule.radialMeans === "tooClose" ? "too close" : "too far"})`;
    return `The sensor is too ${spacing === "tooClose" ? "close to" : "far from"} the corrector${basis}: against the centre the corners focus ${size} ${where} it.`;
  }
  if (spacing === "good")
    return `The field is flat enough: by curvature the corners focus within ${size} of the centre.`;
  if (isCurved > 0.8) {
    return signKnown
      ? `The field is curved by about ${size} from centre to corner; which way the spacing is off is not certain.`
      : `The field is curved by about ${size} from centre to corner, so the spacing is off, but whether the sensor is too close or too far cannot be told from these frames.`;
  }
  return "Whether the spacing is right cannot be told from these frames.";
}

function describeTilt(found: Found): string {
  const { fit, oriented, tilt, weighed } = found;
  const { signKnown } = oriented;
  const across = 2 * fit.problem.halfDiagonalMm;
  const bySweep = weighed.from === "sweep";
  const basis = bySweep ? "By the focus sweep, which measures it directly, " : "";
  const begin = (words: string): string =>
    basis === "" ? words : `${basis}${words[0].toLowerCase()}${words.slice(1)}`;
  const { x, y } = readRulingTilt(found);
  const size = Math.hypot(x, y) * across;
  if (tilt !== "present") {
    const sizes = Float64Array.from(weighed.draws, (draw) => Math.hypot(...draw) * across);
    const most = roundUm(quantileOfSorted(sizes.sort(), 0.975));
    return begin(
      `${tilt === "none" ? "There is no tilt that matters" : "A tilt cannot be told or ruled out"}: it is at most ${most} across the diagonal.`,
    );
  }
  if (bySweep || signKnown) {
    return begin(
      `The sensor is tilted against the focal surface by ${roundUm(size)} across the diagonal; stars focus nearest to the telescope at the ${nameTiltSide({ x, y })}.`,
    );
  }
  return `The sensor is tilted against the focal surface by ${roundUm(size)} across the diagonal, along the line from the ${nameTiltSide({ x, y })} to the ${nameTiltSide({ x: -x, y: -y })}; which end is nearer to the telescope cannot be told from these frames.`;
}

/** The tilt of the evidence that rules, um/mm. */
function readRulingTilt({ oriented, weighed }: Found): { x: number; y: number } {
  const { best } = oriented;
  return weighed.from === "sweep" && weighed.swept !== null
    ? weighed.swept
    : { x: best[TERM.tiltX], y: best[TERM.tiltY] };
}

/** Sweep and frames that contradict each other on the tilt, in one sentence; `acrossMm` is the sensor's diagonal. */
export function describeContradiction(
  { swept, contradiction }: WeighedTilt,
  acrossMm: number,
): string | null {
  if (swept === null || contradiction === null) return null;
  const name = (tilt: { x: number; y: number }): string =>
    `${roundUm(Math.hypot(tilt.x, tilt.y) * acrossMm)} across the diagonal, with focus nearest to the telescope at the ${nameTiltSide(tilt)}`;
  return `Sweep and frames contradict each other on the tilt: the sweep finds ${name(swept)}, the frames in focus find ${name(contradiction.frames)}. Something moved between them, or the stars of the frames are drawn out by something that is not in the model.`;
}

function describeTracking({ fit, oriented, tracking }: Found): string {
  const [e1, e2] = makeTrackingReader(fit)(oriented.best);
  if (tracking === "present") {
    const angle = ((Math.atan2(e2, e1) * 90) / Math.PI + 180) % 180;
    return `Tracking draws all stars out alike, by an ellipticity of ${toEllipticity(Math.hypot(e1, e2)).toFixed(2)} along ${Math.round(angle)} degrees: this is the mount or the wind, not the optics.`;
  }
  return tracking === "none"
    ? `Tracking does not matter: it adds an ellipticity of ${toEllipticity(Math.hypot(e1, e2)).toFixed(2)}.`
    : "Whether tracking draws the stars out is not certain.";
}

const shapeWords = {
  radial: "drawn out away from the centre",
  tangential: "drawn out across the radius",
  oblique: "drawn out aslant",
  round: "round",
} as const;

function joinCorners(list: readonly Corner[]): string {
  const words = list.map((corner) => cornerWords[corner]);
  const last = words.pop() ?? "";
  return words.length === 0 ? last : `${words.join(", ")} and ${last}`;
}

function describeCorners({ corners }: Found): string {
  const groups = new Map<string, Corner[]>();
  for (const corner of CORNERS) {
    const { class: name, stars } = corners[corner];
    const word = name !== "unknown" ? shapeWords[name] : stars === 0 ? "missing" : "of no certain shape";
    groups.set(word, [...(groups.get(word) ?? []), corner]);
  }
  const parts = [...groups].map(
    ([word, list]) => `${word} ${list.length === 4 ? "in all four corners" : `in the ${joinCorners(list)}`}`,
  );
  return `The stars are ${parts.join(", ")}.`;
}

/** The diagnosis in plain words, most important first; the night last. */
export function describeDiagnosis(found: Found): string {
  const seeing = readSeeing(found.fit, found.oriented.best);
  return [
    describeSpacing(found),
    describeTilt(found),
    describeTracking(found),
    describeCorners(found),
    `Seeing was ${seeing.toFixed(1)} arcsec.`,
  ].join(" ");
}
