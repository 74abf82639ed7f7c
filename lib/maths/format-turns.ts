/** Twenty-fourths of a turn, 15 degrees, are what a hand sets on a screw without a scale (common practice, no source). */
const partsOfTurn = 24;

function findCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : findCommonDivisor(b, a % b);
}

/**
 * How far a screw is turned, whichever way, as a hand reads it: to the nearest 15 degrees, in lowest terms. "1/24
 * turn", "1 turn", "1 1/4 turns"; null where that is no turn at all, or where `turns` is not finite.
 */
export function formatTurns(turns: number): string | null {
  const parts = Math.round(Math.abs(turns) * partsOfTurn);
  if (!Number.isFinite(parts) || parts === 0) return null;
  const whole = Math.floor(parts / partsOfTurn);
  const rest = parts % partsOfTurn;
  const divisor = findCommonDivisor(rest, partsOfTurn);
  const fraction = rest === 0 ? "" : `${rest / divisor}/${partsOfTurn / divisor}`;
  const number = [whole === 0 ? "" : String(whole), fraction].filter((text) => text !== "").join(" ");
  return `${number} ${parts > partsOfTurn ? "turns" : "turn"}`;
}
