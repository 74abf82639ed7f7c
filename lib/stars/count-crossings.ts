import type { Trail } from "./flag-trails.ts";

const lengthPx = ({ fromPx, toPx }: Trail): number => toPx - fromPx;

/** Whether both ends of a trail lie on the line of a longer one, within what the widths of both leave open. */
function continues(longer: Trail, shorter: Trail): boolean {
  const open = longer.halfWidthPx + shorter.halfWidthPx;
  return [shorter.fromPx, shorter.toPx].every((along) => {
    const x = shorter.distancePx * shorter.cos - along * shorter.sin;
    const y = shorter.distancePx * shorter.sin + along * shorter.cos;
    return Math.abs(x * longer.cos + y * longer.sin - longer.distancePx) <= open;
  });
}

/**
 * How many satellites or aeroplanes drew some trails: one whose light flickers leaves several, one behind the other on one
 * line. The longest piece tells a line best, so that each piece is held against those longer than it.
 */
export function countCrossings(trails: readonly Trail[]): number {
  const lines: Trail[] = [];
  for (const trail of [...trails].sort((a, b) => lengthPx(b) - lengthPx(a)))
    if (!lines.some((line) => continues(line, trail))) lines.push(trail);
  return lines.length;
}
