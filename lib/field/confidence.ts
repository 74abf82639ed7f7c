/** Kinds of verdict whose beliefs are calibrated one by one. */
export type VerdictKind = "spacing" | "tilt" | "tracking" | "corner";

/**
 * Logistic calibration of beliefs (Platt 1999): logit of the share that is right = offset + slope times the logit of the
 * belief read off the fit's draws. Fitted by test/references/field-cases/calibrate.py to verdicts of known truth, on star
 * tables with the noise and faults of measured stars and on drawn and measured frames together, and tested on others.
 */
const calibration: Record<VerdictKind, { offset: number; slope: number }> = {
  spacing: { offset: -0.22, slope: 1.21 },
  tilt: { offset: -0.4, slope: 0.9 },
  tracking: { offset: 0.97, slope: 0.85 },
  corner: { offset: 0.02, slope: 1.28 },
};

/** No belief is more than this: the simulation that calibrates it is not the world. */
const mostCertain = 0.99;

function logit(p: number): number {
  return Math.log(p / (1 - p));
}

/** Belief in the likeliest class, as the share of such verdicts that come out right. */
export function calibrateBelief(kind: VerdictKind, belief: number): number {
  const { offset, slope } = calibration[kind];
  const held = Math.min(Math.max(belief, 0.002), 0.998);
  return Math.min(mostCertain, 1 / (1 + Math.exp(-(offset + slope * logit(held)))));
}

export interface Verdict<Class extends string> {
  class: Class | "unknown";
  confidence: number;
}

/** An answer is given from this confidence on; below it the verdict is "unknown". */
const answeredFrom = 0.7;
/** A fault is named only from here on: it sends someone to take a train apart. */
const accusedFrom = 0.85;
const accusations: readonly string[] = ["tooClose", "tooFar", "present"];

/**
 * The likeliest class with its calibrated confidence, or "unknown" where that is too low; the confidence is then still
 * that of the likeliest class.
 */
export function judge<Class extends string>(
  kind: VerdictKind,
  beliefs: Readonly<Record<Class, number>>,
): Verdict<Class> & { likeliest: Class; belief: number } {
  const classes = Object.keys(beliefs) as Class[];
  const likeliest = classes.reduce((best, name) => (beliefs[name] > beliefs[best] ? name : best));
  const belief = beliefs[likeliest];
  const confidence = calibrateBelief(kind, belief);
  const asked = accusations.includes(likeliest) ? accusedFrom : answeredFrom;
  return { class: confidence >= asked ? likeliest : "unknown", confidence, likeliest, belief };
}

/** Shares of the members that fall into each class. */
export function countClasses<Class extends string, Member>(
  members: readonly Member[],
  classes: readonly Class[],
  sort: (member: Member) => Class,
): Record<Class, number> {
  const shares = Object.fromEntries(classes.map((name) => [name, 0])) as Record<Class, number>;
  for (const member of members) shares[sort(member)] += 1 / members.length;
  return shares;
}
