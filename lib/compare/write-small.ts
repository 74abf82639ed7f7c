/** A small size, percent: to two figures, and no finer than a ten-thousandth. */
export function writeSmall(value: number): string {
  const size = Math.abs(value);
  if (size < 1e-4) return "0.0001";
  return String(Number(size.toPrecision(2)));
}
