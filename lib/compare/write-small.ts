/** A small size, percent: to two figures, and no finer than a thousandth. */
export function writeSmall(value: number): string {
  const size = Math.abs(value);
  if (size < 1e-3) return "0.001";
  return String(Number(size.toPrecision(2)));
}
