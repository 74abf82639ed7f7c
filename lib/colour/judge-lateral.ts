import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import { stateQuantity } from "../maths/state-quantity.ts";
import type { ColourPair } from "../report/colour-results.ts";

/** From a third of a pixel on, edges of stars show a tint when stretched: common practice, no source. */
export const visibleShare = 1 / 3;

const colourWords: Readonly<Record<string, string>> = { R: "red", G: "green", B: "blue" };

/** "red" for the pixels' R, else the filter's own name. */
export function nameColour(channel: string): string {
  return Object.hasOwn(colourWords, channel) ? colourWords[channel] : channel;
}

export function capitalize(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** The size of a shift; its way is told in words. */
function state(quantity: KnownQuantity): string {
  const [lo, hi] = [Math.abs(quantity.lo), Math.abs(quantity.hi)].sort((a, b) => a - b);
  return stateQuantity({ ...quantity, value: Math.abs(quantity.value), lo, hi }, "um");
}

function share(ratio: Quantity, of: string): string[] {
  return ratio.value === null ? [] : [`${ratio.value.toFixed(2)} of ${of}`];
}

/**
 * What the lateral colour of a pair amounts to: "none" where its interval holds zero, "small" where all of it is below a third of
 * a pixel, else "visible".
 */
export function judgeLateral(
  of: string,
  against: string,
  lateral: Quantity,
  over: ColourPair["over"],
): Pick<ColourPair, "class" | "sentence"> {
  const names = `${nameColour(of)} and ${nameColour(against)}`;
  if (lateral.value === null)
    return { class: "unknown", sentence: `Lateral colour of ${names} is not known: ${lateral.why}` };
  if (lateral.lo <= 0 && lateral.hi >= 0) {
    const most = Math.max(Math.abs(lateral.lo), Math.abs(lateral.hi));
    return {
      class: "none",
      sentence: `No lateral colour is told between ${names}: at the corner it is at most ${most.toFixed(2)} um.`,
    };
  }
  const way = lateral.value > 0 ? "farther out" : "farther in";
  const parts = [
    ...share(over.pixel, "a pixel"),
    ...share(over.airy, "the Airy disc"),
    ...share(over.seeing, "the width of a star"),
  ];
  const pixel = over.pixel.value === null ? Number.NaN : over.pixel.hi;
  const isSmall = pixel < visibleShare;
  return {
    class: isSmall ? "small" : "visible",
    sentence: `At the corner ${nameColour(of)} stands ${state(lateral)} ${way} than ${nameColour(against)}: ${parts.join(", ")}${isSmall ? "; tints begin to show from a third of a pixel on" : ""}.`,
  };
}
