/** A contour: runs of points, in the axes of the grid. */
export interface Contour {
  level: number;
  runs: [number, number][][];
}

/**
 * Contours of a function over a rectangle by marching squares on a fine grid (Lorensen & Cline 1987 in the plane), the
 * pieces joined to runs. Saddles within a cell are cut by the mean of its corners.
 */
export function traceContours(
  height: (x: number, y: number) => number,
  box: { left: number; right: number; bottom: number; top: number },
  levels: readonly number[],
  columns = 72,
): Contour[] {
  const rows = Math.max(8, Math.round((columns * (box.top - box.bottom)) / (box.right - box.left)));
  const xs = Array.from({ length: columns + 1 }, (_, i) => box.left + ((box.right - box.left) * i) / columns);
  const ys = Array.from({ length: rows + 1 }, (_, j) => box.bottom + ((box.top - box.bottom) * j) / rows);
  const values = ys.map((y) => Float64Array.from(xs, (x) => height(x, y)));
  return levels.map((level) => ({ level, runs: joinPieces(cutCells(xs, ys, values, level)) }));
}

type Point = [number, number];

function cutCells(xs: number[], ys: number[], values: Float64Array[], level: number): [Point, Point][] {
  const pieces: [Point, Point][] = [];
  for (let j = 0; j + 1 < ys.length; j++) {
    const [lower, upper] = [values[j], values[j + 1]];
    for (let i = 0; i + 1 < xs.length; i++) {
      // Most cells lie on one side of the level.
      const below = lower[i] < level;
      if (lower[i + 1] < level === below && upper[i + 1] < level === below && upper[i] < level === below)
        continue;
      const corners = [lower[i], lower[i + 1], upper[i + 1], upper[i]];
      const places: Point[] = [
        [xs[i], ys[j]],
        [xs[i + 1], ys[j]],
        [xs[i + 1], ys[j + 1]],
        [xs[i], ys[j + 1]],
      ];
      const crossings: Point[] = [];
      for (let side = 0; side < 4; side++) {
        const [a, b] = [corners[side] - level, corners[(side + 1) % 4] - level];
        if (a < 0 === b < 0) continue;
        const t = a / (a - b);
        const [p, q] = [places[side], places[(side + 1) % 4]];
        crossings.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
      }
      if (crossings.length === 2) pieces.push([crossings[0], crossings[1]]);
      if (crossings.length !== 4) continue;
      const high = corners.reduce((sum, value) => sum + value, 0) / 4 >= level;
      const first = corners[0] >= level === high ? 1 : 3;
      pieces.push([crossings[0], crossings[first]], [crossings[2], crossings[first === 1 ? 3 : 1]]);
    }
  }
  return pieces;
}

const nameEnd = ([x, y]: Point) => `${Math.round(x * 1e6)} ${Math.round(y * 1e6)}`;

function joinPieces(pieces: [Point, Point][]): Point[][] {
  const names = pieces.map(([a, b]) => [nameEnd(a), nameEnd(b)]);
  const byEnd = new Map<string, number[]>();
  names.forEach((ends, k) => {
    for (const end of ends) {
      const listed = byEnd.get(end);
      if (listed === undefined) byEnd.set(end, [k]);
      else listed.push(k);
    }
  });
  const used = new Set<number>();
  const grow = (run: Point[], from: string) => {
    for (let end = from; ; ) {
      const next = (byEnd.get(end) ?? []).find((k) => !used.has(k));
      if (next === undefined) return;
      used.add(next);
      const side = names[next][0] === end ? 1 : 0;
      run.push(pieces[next][side]);
      end = names[next][side];
    }
  };
  return pieces.flatMap((piece, k) => {
    if (used.has(k)) return [];
    used.add(k);
    const run: Point[] = [piece[0], piece[1]];
    grow(run, names[k][1]);
    run.reverse();
    grow(run, names[k][0]);
    return [run];
  });
}
