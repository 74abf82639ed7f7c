/** A number in a sentence, with a true minus sign and no negative zero. */
export function sayNumber(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

export function sayRange(lo: number, hi: number, decimals: number): string {
  return `${sayNumber(lo, decimals)} to ${sayNumber(hi, decimals)}`;
}

/** "10 frames", "one frame". */
export function sayCount(count: number, what: string): string {
  return count === 1 ? `one ${what}` : `${count} ${what}s`;
}
