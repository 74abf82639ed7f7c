import type { FrameMeasurement } from "./frame-measurement.ts";
import { storeStars } from "./star-digits.ts";

/** JSON that reads well in a diff: objects open out, each list of plain values (a column of stars) is one line. */
export function formatJson(value: unknown, indent = ""): string {
  const deeper = `${indent}  `;
  if (Array.isArray(value)) {
    const plain = value.every((item) => item === null || typeof item !== "object");
    if (plain) return JSON.stringify(value);
    return `[\n${value.map((item) => deeper + formatJson(item, deeper)).join(",\n")}\n${indent}]`;
  }
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const entries = Object.entries(value).filter(([, item]) => item !== undefined);
  if (entries.length === 0) return "{}";
  const lines = entries.map(([key, item]) => `${deeper}${JSON.stringify(key)}: ${formatJson(item, deeper)}`);
  return `{\n${lines.join(",\n")}\n${indent}}`;
}

/** A frame as it is stored: its star tables rounded, column by column. */
export function storeFrame(frame: FrameMeasurement): object {
  return {
    ...frame,
    channels: frame.channels.map((channel) => ({ ...channel, stars: storeStars(channel.stars) })),
  };
}

/** One frame as text, for the work that is not finished yet. */
export function encodeFrame(frame: FrameMeasurement): string {
  return `${formatJson(storeFrame(frame))}\n`;
}
