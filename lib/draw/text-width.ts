import { cleanText } from "./svg.ts";

/** Text size in a figure's own units: on a wide screen and paper, and on a phone, where the whole picture shrinks. */
export const textSize = { wide: 12, narrow: 14.5 } as const;

/** Below this width of the window, in px, the figure's letters grow. */
export const narrowBelowPx = 520;

/**
 * Advance of a character in em. Chosen on the wide side of common book faces (Source Serif, Georgia, DejaVu Serif), as
 * the reader's face is not known when the picture is made: room too much does no harm, too little makes labels collide.
 */
function estimateAdvance(character: string): number {
  if (/[ilj.,;:'|!]/.test(character)) return 0.33;
  if (/[\s()[\]/tfrI·-]/.test(character)) return 0.42;
  if (/[mwMW@%—]/.test(character)) return 0.95;
  if (/[A-Z]/.test(character)) return 0.72;
  if ((character.codePointAt(0) ?? 0) > 0x2e7f) return 1.05;
  return 0.58;
}

/** Width a text takes at a size, an upper estimate, in the size's unit. */
export function estimateTextWidth(text: string, size: number = textSize.narrow): number {
  let em = 0;
  for (const character of text) em += estimateAdvance(character);
  return em * size;
}

/** The text, cut with an ellipsis where it would be wider than the room. */
export function fitText(text: string, room: number, size: number = textSize.narrow): string {
  const clean = cleanText(text).replace(/\s+/g, " ").trim();
  if (estimateTextWidth(clean, size) <= room) return clean;
  let kept = "";
  let width = estimateTextWidth("…", size);
  for (const character of clean) {
    width += estimateAdvance(character) * size;
    if (width > room) break;
    kept += character;
  }
  return `${kept.trimEnd()}…`;
}

/**
 * Positions of labels along one direction, moved apart so that neighbours keep `gap` and all stay within the ends;
 * order is kept and labels stay as near to where they belong as that allows. Where there are more than fit, they are
 * spread evenly.
 */
export function spreadLabels(wanted: readonly number[], gap: number, from: number, to: number): number[] {
  const order = wanted.map((_, k) => k).sort((a, b) => wanted[a] - wanted[b] || a - b);
  const count = order.length;
  const step = count > 1 ? Math.min(gap, (to - from) / (count - 1)) : gap;
  // Least squares under the spacing rule: pool neighbours that touch, as isotonic regression does.
  const blocks: { sum: number; size: number }[] = [];
  for (const [k, index] of order.entries()) {
    let block = { sum: wanted[index] - k * step, size: 1 };
    for (
      let last = blocks.at(-1);
      last && last.sum / last.size > block.sum / block.size;
      last = blocks.at(-1)
    ) {
      block = { sum: block.sum + last.sum, size: block.size + last.size };
      blocks.pop();
    }
    blocks.push(block);
  }
  const placed: number[] = new Array(count);
  let k = 0;
  for (const block of blocks) {
    for (let within = 0; within < block.size; within++, k++) {
      const low = from + k * step;
      const high = to - (count - 1 - k) * step;
      placed[order[k]] = Math.max(low, Math.min(high, block.sum / block.size + k * step));
    }
  }
  return placed;
}
