/** Samples of a log that fall into one span of time, by their places in the log. */
export interface Window {
  from: number;
  /** One beyond the last. */
  to: number;
}

/** Fewest samples by which a window's own scatter is told (chosen: below five the middle takes up a quarter of it). */
export const fewestSamples = 5;

/**
 * The log cut into spans as long as one exposure, from its first sample on: what moves slower than an exposure shifts a
 * frame and does not blur it. Spans with fewer than five samples are left out.
 *
 * @param timeS - seconds, never falling
 */
export function cutWindows(timeS: Float64Array, lengthS: number): Window[] {
  const windows: Window[] = [];
  for (let from = 0; from < timeS.length; ) {
    const number = Math.floor((timeS[from] - timeS[0]) / lengthS);
    let to = from + 1;
    while (to < timeS.length && Math.floor((timeS[to] - timeS[0]) / lengthS) === number) to++;
    if (to - from >= fewestSamples) windows.push({ from, to });
    from = to;
  }
  return windows;
}

/** A window cut into `parts` of equal count, for intervals where there are few windows. */
export function splitWindow({ from, to }: Window, parts: number): Window[] {
  const count = Math.max(1, Math.min(parts, to - from));
  const edge = (k: number) => from + Math.round(((to - from) * k) / count);
  return Array.from({ length: count }, (_, k) => ({ from: edge(k), to: edge(k + 1) }));
}

/** Most spans that a figure shows apart and that ranks are taken of: four hours of exposures of a minute (chosen). */
export const mostSpans = 240;

/** Neighbours put together, equally many in each, so that at most 240 groups are left. */
export function groupSpans<Span>(spans: readonly Span[]): Span[][] {
  const size = Math.max(1, Math.ceil(spans.length / mostSpans));
  return Array.from({ length: Math.ceil(spans.length / size) }, (_, k) =>
    spans.slice(k * size, (k + 1) * size),
  );
}
