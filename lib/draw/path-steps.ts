type Point = readonly [number, number];

/** A place in whole tenths of the drawing's unit. Throws where it is not finite: callers leave out what cannot be told. */
export function roundTenths(value: number): number {
  if (!Number.isFinite(value)) throw new RangeError(`A coordinate must be finite, not ${value}.`);
  return Math.round(value * 10);
}

/** "12.3", ".5", "-4" of 123, 5 and -40 tenths. */
function formatTenths(tenths: number): string {
  const text = String(Math.abs(tenths) / 10).replace(/^0\./, ".");
  return tenths < 0 ? `-${text}` : text;
}

/** A step in tenths as path data; a minus sign parts numbers as well as a space does. */
export function writeStep(dx: number, dy: number): string {
  return `${formatTenths(dx)}${dy < 0 ? "" : " "}${formatTenths(dy)}`;
}

/** Height of a strip of dots, and of one of strokes, in the drawing's units (chosen: the shortest path data of 1,500 stars and of 400 cells). */
const stripOfDots = 10;
const stripOfStrokes = 20;

/** Width of a dot in a cloud of stars, in the drawing's units. */
export const dotWidth = 2.4;

/** Drawings are far smaller than this; whole places up to here, in both ways, go into one number and come back exactly. */
const farthest = 1 << 15;

/** Two whole numbers as one that is in the order of the first, then of the second. */
function packPair(first: number, second: number): number {
  return (first + farthest) * 2 * farthest + second + farthest;
}

function unpackPair(packed: number): [number, number] {
  const second = packed % (2 * farthest);
  return [(packed - second) / (2 * farthest) - farthest, second - farthest];
}

/**
 * Whole places in strips of a height, to and fro: each lies near the one before, so that steps from place to place have
 * few digits. Numbers are sorted as such, as clouds of stars are many.
 */
function orderInStrips(places: readonly Point[]): Point[] {
  const packed = Float64Array.from(places, ([x, y]) => {
    const strip = Math.floor(y / stripOfDots);
    return strip * farthest ** 2 * 4 + packPair(strip % 2 === 0 ? x : -x, y);
  });
  return Array.from(packed.sort(), (value): Point => {
    const strip = Math.floor(value / (farthest ** 2 * 4));
    const [x, y] = unpackPair(value - strip * farthest ** 2 * 4);
    return [strip % 2 === 0 ? x : -x, y];
  });
}

/** Whether a dot lies under one of those placed before it, which are in the order of x. */
function isCovered([x, y]: Point, places: readonly Point[]): boolean {
  for (let k = places.length - 1; k >= 0; k--) {
    const [dx, dy] = [x - places[k][0], y - places[k][1]];
    if (dx >= dotWidth) return false;
    if (dx * dx + dy * dy < dotWidth * dotWidth) return true;
  }
  return false;
}

/**
 * Points as path data for a stroke of `dotWidth` with round ends: a dot each, on whole units, as half of one is less than a
 * dot's own radius. A dot whose middle lies under another's width would hardly be seen and is left out; which ones does not
 * depend on the order of the points.
 */
export function traceDots(points: readonly Point[]): string {
  const whole = (value: number) => Math.round(roundTenths(value) / 10);
  const sorted = Float64Array.from(points, ([x, y]) => packPair(whole(x), whole(y))).sort();
  const places: Point[] = [];
  for (const packed of sorted) {
    const place = unpackPair(packed);
    if (!isCovered(place, places)) places.push(place);
  }
  let [fromX, fromY] = [0, 0];
  let path = "";
  for (const [x, y] of orderInStrips(places)) {
    const [dx, dy] = [x - fromX, y - fromY];
    path += `m${dx}${dy < 0 ? "" : " "}${dy}h0`;
    [fromX, fromY] = [x, y];
  }
  return path;
}

/** A straight line from end to end. */
export interface Stroke {
  x1: number;
  y1: number;
  x2: number;
  y2: number;
}

/** Single strokes from end to end as path data, in steps of tenths and in strips to and fro; the rounding does not add up. */
export function traceStrokes(strokes: readonly Stroke[]): string {
  const ordered = strokes
    .map((stroke) => {
      const strip = Math.floor((stroke.y1 + stroke.y2) / 2 / stripOfStrokes);
      const x = stroke.x1 + stroke.x2;
      return { stroke, strip, x: strip % 2 === 0 ? x : -x, y: stroke.y1 + stroke.y2 };
    })
    .sort((a, b) => a.strip - b.strip || a.x - b.x || a.y - b.y);
  let [fromX, fromY] = [0, 0];
  let path = "";
  for (const { stroke } of ordered) {
    const [x1, y1, x2, y2] = [stroke.x1, stroke.y1, stroke.x2, stroke.y2].map(roundTenths);
    path += `m${writeStep(x1 - fromX, y1 - fromY)}l${writeStep(x2 - x1, y2 - y1)}`;
    [fromX, fromY] = [x2, y2];
  }
  return path;
}

/** How far a drawn curve may run beside its points: a tenth of the drawing's unit is less than any line's width. */
const curveToleranceUnits = 0.1;

/**
 * The points of a run that its shape needs: what is left out lies no further than the tolerance from the line between its
 * neighbours that are kept (Douglas & Peucker 1973). The ends stay.
 */
export function thinRun(points: readonly Point[], tolerance = curveToleranceUnits): Point[] {
  if (points.length < 3) return [...points];
  const kept = new Set([0, points.length - 1]);
  const open: [number, number][] = [[0, points.length - 1]];
  for (let span = open.pop(); span !== undefined; span = open.pop()) {
    const [first, last] = span;
    const [[ax, ay], [bx, by]] = [points[first], points[last]];
    const length = Math.hypot(bx - ax, by - ay);
    let [farthest, at] = [tolerance, -1];
    for (let k = first + 1; k < last; k++) {
      const [px, py] = points[k];
      const off =
        length === 0
          ? Math.hypot(px - ax, py - ay)
          : Math.abs((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / length;
      if (off > farthest) [farthest, at] = [off, k];
    }
    if (at < 0) continue;
    kept.add(at);
    open.push([first, at], [at, last]);
  }
  return points.filter((_, k) => kept.has(k));
}
