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

/** An element with its content, which must be markup already. */
export function drawElement(name: string, attributes: Attributes, ...content: string[]): string {
  const written = Object.entries(attributes)
    .filter((entry): entry is [string, string | number] => entry[1] !== undefined)
    .map(
      ([key, value]) =>
        ` ${key}="${typeof value === "number" ? formatCoordinate(value) : escapeText(value)}"`,
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

function roundTenths(value: number): number {
  if (!Number.isFinite(value)) throw new RangeError(`A coordinate must be finite, not ${value}.`);
  return Math.round(value * 10);
}

function writeStep(dx: number, dy: number): string {
  return `${formatTenths(dx)}${dy < 0 ? "" : " "}${formatTenths(dy)}`;
}

/**
 * Points as path data, a dot each where the stroke's ends are round. Steps from dot to dot, in tenths and in the order
 * of x, take a third of the room of places; the rounding does not add up.
 */
export function traceDots(points: readonly (readonly [number, number])[]): string {
  const tenths = points
    .map(([x, y]) => [roundTenths(x), roundTenths(y)] as const)
    .sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  let [fromX, fromY] = [0, 0];
  let path = "";
  for (const [x, y] of tenths) {
    path += `m${writeStep(x - fromX, y - fromY)}h0`;
    [fromX, fromY] = [x, y];
  }
  return path;
}

/** "12.3", ".5", "-4". */
function formatTenths(tenths: number): string {
  const text = String(Math.abs(tenths) / 10).replace(/^0\./, ".");
  return tenths < 0 ? `-${text}` : text;
}
