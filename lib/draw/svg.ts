import { roundTenths, type Stroke, traceStrokes, writeStep } from "./path-steps.ts";

/** Attributes of an element; numbers are rounded, undefined leaves the attribute out. */
export type Attributes = Record<string, string | number | undefined>;

/**
 * Removes what a picture must not carry: control characters, which XML forbids, and marks that reorder text and could
 * make a label read as something else.
 */
export function cleanText(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to be removed
  const visible = text.replace(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069\ufffe\uffff]/g, " ");
  return visible.replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, "\ufffd");
}

/** Text made safe as content and as a quoted attribute of XML and of HTML. */
export function escapeText(text: string): string {
  return cleanText(text)
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;")
    .replaceAll('"', "&quot;")
    .replaceAll("'", "&#39;");
}

/**
 * A coordinate as text: two decimals, no exponent, no negative zero, so that the same numbers give the same bytes.
 * Throws where the number is not finite: callers leave out what cannot be told before drawing.
 */
export function formatCoordinate(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`A coordinate must be finite, not ${value}.`);
  const rounded = Math.round(value * 100) / 100;
  return rounded === 0 ? "0" : String(rounded);
}

/** Where something stands, in tenths: finer than a hairline. Sizes keep their hundredths, as they are compared by eye. */
const places = new Set(["x", "y", "x1", "y1", "x2", "y2", "cx", "cy"]);

function formatAttribute(key: string, value: number): string {
  return formatCoordinate(places.has(key) ? roundTenths(value) / 10 : value);
}

/** An element with its content, which must be markup already. */
export function drawElement(name: string, attributes: Attributes, ...content: string[]): string {
  const written = Object.entries(attributes)
    .filter((entry): entry is [string, string | number] => entry[1] !== undefined)
    .map(
      ([key, value]) =>
        ` ${key}="${typeof value === "number" ? formatAttribute(key, value) : escapeText(value)}"`,
    )
    .join("");
  const inner = content.join("");
  return inner === "" ? `<${name}${written}/>` : `<${name}${written}>${inner}</${name}>`;
}

/** A line of text at a point; the text is escaped. */
export function drawText(x: number, y: number, text: string, attributes: Attributes = {}): string {
  return drawElement("text", { x, y, ...attributes }, escapeText(text));
}

export function drawLine(
  x1: number,
  y1: number,
  x2: number,
  y2: number,
  attributes: Attributes = {},
): string {
  return drawElement("line", { x1, y1, x2, y2, ...attributes });
}

/** Several straight lines of one kind as one element; nothing where there are none. */
export function drawStrokes(strokes: readonly Stroke[], attributes: Attributes): string {
  return strokes.length === 0
    ? ""
    : drawElement("path", { d: traceStrokes(strokes), fill: "none", ...attributes });
}

/**
 * An open or closed run of straight lines as path data, in steps of tenths from point to point: a tenth is finer than a
 * hairline, and steps take half the room of places. The rounding does not add up. Throws where a number is not finite.
 */
export function tracePath(points: readonly (readonly [number, number])[], closed = false): string {
  let [fromX, fromY] = [0, 0];
  const steps = points.map(([x, y], k) => {
    const [toX, toY] = [roundTenths(x), roundTenths(y)];
    const step = writeStep(toX - fromX, toY - fromY);
    [fromX, fromY] = [toX, toY];
    return `${k === 0 ? "m" : k === 1 ? "l" : step.startsWith("-") ? "" : " "}${step}`;
  });
  return steps.join("") + (closed ? "Z" : "");
}
