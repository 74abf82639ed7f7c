/** A straight scale from numbers to places in the picture. */
export interface Scale {
  from: number;
  to: number;
  /** Place of a number. */
  place: (value: number) => number;
}

/** Scale that puts `from` at `start` and `to` at `end`; equal ends are widened so that nothing divides by zero. */
export function makeScale(from: number, to: number, start: number, end: number): Scale {
  const span = to - from === 0 ? 1 : to - from;
  return { from, to, place: (value) => start + ((value - from) / span) * (end - start) };
}

/** Step of 1, 2 or 5 times a power of ten that cuts the span into at most `most` parts. */
export function chooseStep(span: number, most: number): number {
  if (!(span > 0) || !Number.isFinite(span)) return 1;
  const rough = span / most;
  const power = 10 ** Math.floor(Math.log10(rough));
  for (const factor of [1, 2, 5]) if (factor * power >= rough * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

export interface Tick {
  value: number;
  label: string;
}

/** Round numbers from `from` to `to`, with as many decimals as their step needs and a true minus sign. */
export function listTicks(from: number, to: number, most = 5): Tick[] {
  const step = chooseStep(to - from, most);
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const ticks: Tick[] = [];
  for (let k = Math.ceil(from / step - 1e-6); k * step <= to + step * 1e-6; k++) {
    const value = k * step;
    ticks.push({ value, label: formatSigned(value, decimals) });
  }
  return ticks;
}

/** A number with fixed decimals and a true minus sign; no negative zero. */
export function formatSigned(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? `−${text}` : text;
}

/** Ends of an axis that hold all values, on round numbers, with a little air. */
export function chooseRange(values: readonly number[], most = 5): [number, number] {
  const finite = values.filter(Number.isFinite);
  if (finite.length === 0) return [0, 1];
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of finite) {
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (low === high) {
    const room = low === 0 ? 1 : Math.abs(low) * 0.1;
    low -= room;
    high += room;
  }
  const step = chooseStep(high - low, most) / 2;
  return [Math.floor(low / step + 1e-9) * step, Math.ceil(high / step - 1e-9) * step];
}
