import type { Comparison } from "../report/results.ts";

/** Focal lengths and pixels nearer than this are one scale: a corner star then lies within a tenth of a ring's width (chosen). */
const sameWithin = 0.01;

/** Whether equal angles on the sky are equal lengths on the sensor, so that a matching by either shows the same. */
export function hasOneScale({ sides: { a, b } }: Pick<Comparison, "sides">): boolean {
  if (a.scale === null || b.scale === null) return false;
  const agree = (one: number, other: number) => Math.abs(one / other - 1) < sameWithin;
  return (
    agree(a.scale.focalLengthMm, b.scale.focalLengthMm) &&
    agree(a.scale.umPerPx, b.scale.umPerPx) &&
    agree(a.scale.arcsecPerPx, b.scale.arcsecPerPx)
  );
}
