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

/**
 * Points in strips of a height, to and fro: each lies near the one before, so that steps from point to point have few
 * digits. The order depends on the points alone.
 */
function orderInStrips<Item>(items: readonly Item[], place: (item: Item) => Point, height: number): Item[] {
  return items
    .map((item) => {
      const [x, y] = place(item);
      const strip = Math.floor(y / height);
      return { item, strip, x: strip % 2 === 0 ? x : -x, y };
    })
    .sort((a, b) => a.strip - b.strip || a.x - b.x || a.y - b.y)
    .map(({ item }) => item);
}

/** Height of a strip of dots, and of one of strokes, in the drawing's units (chosen: the shortest path data of 1,500 stars and of 400 cells). */
const stripOfDots = 10;
const stripOfStrokes = 20;

/** Width of a dot in a cloud of stars, in the drawing's units. */
export const dotWidth = 2.4;

/** The steps in whole units that are shorter than a dot is wide. */
const under = [-2, -1, 0, 1, 2].flatMap((dx) =>
  [-2, -1, 0, 1, 2].flatMap((dy) => (Math.hypot(dx, dy) < dotWidth ? [[dx, dy]] : [])),
);

/**
 * Points as path data for a stroke of `dotWidth` with round ends: a dot each, on whole units, as half of one is less than a
 * dot's own radius. A dot whose middle lies under another's width would hardly be seen and is left out; which ones does not
 * depend on the order of the points.
 */
export function traceDots(points: readonly Point[]): string {
  const taken = new Set<string>();
  const places: Point[] = [];
  const sorted = points
    .map(([x, y]): Point => [Math.round(roundTenths(x) / 10), Math.round(roundTenths(y) / 10)])
    .sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  for (const [x, y] of sorted) {
    if (under.some(([dx, dy]) => taken.has(`${x + dx} ${y + dy}`))) continue;
    taken.add(`${x} ${y}`);
    places.push([x, y]);
  }
  let [fromX, fromY] = [0, 0];
  let path = "";
  for (const [x, y] of orderInStrips(places, (place) => place, stripOfDots)) {
    path += `m${writeStep(10 * (x - fromX), 10 * (y - fromY))}h0`;
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

/** Single strokes from end to end as path data, in steps of tenths; the rounding does not add up. */
export function traceStrokes(strokes: readonly Stroke[]): string {
  const middle = (stroke: Stroke): Point => [(stroke.x1 + stroke.x2) / 2, (stroke.y1 + stroke.y2) / 2];
  let [fromX, fromY] = [0, 0];
  let path = "";
  for (const stroke of orderInStrips(strokes, middle, stripOfStrokes)) {
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
