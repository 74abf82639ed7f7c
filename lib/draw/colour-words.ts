import { type Slot, slots } from "./marks.ts";

const words: Readonly<Record<string, string>> = { R: "red", G: "green", B: "blue" };

/** "red" for the pixels' R, else the filter's own name. */
export function nameColour(channel: string): string {
  return Object.hasOwn(words, channel) ? words[channel] : channel;
}

export function capitalize(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Slots of the marks in the order of the pairs, blue the second as in a camera's red and blue; a fifth pair and more start again. */
export function pickPairSlot(index: number): Slot {
  return slots[index % slots.length];
}
