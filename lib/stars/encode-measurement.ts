import type { FrameMeasurement, TestMeasurement } from "./frame-measurement.ts";
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

function storeFrame(frame: FrameMeasurement): object {
  return {
    ...frame,
    channels: frame.channels.map((channel) => ({ ...channel, stars: storeStars(channel.stars) })),
  };
}

/** One frame as text, for the work that is not finished yet. */
export function encodeFrame(frame: FrameMeasurement): string {
  return `${formatJson(storeFrame(frame))}\n`;
}

/** The text of measured.json. The same measurement gives the same bytes. */
export function encodeMeasurement(measurement: TestMeasurement): string {
  const { frames, sweep, crops, ...rest } = measurement;
  // The order is fixed here, so that the same measurement is the same bytes whoever put it together.
  const stored = { ...rest, frames: frames.map(storeFrame), sweep: sweep?.map(storeFrame), crops };
  return `${formatJson(stored)}\n`;
}
