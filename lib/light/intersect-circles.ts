/** A circle in the plane; unit as the caller's. */
export interface Circle {
  x: number;
  y: number;
  radius: number;
}

/**
 * Area common to two discs of radii `a` and `b` whose centres lie `distance` apart.
 * Source: elementary geometry, two circular segments; for a = b = distance = 1 it is 2 pi / 3 - sqrt(3) / 2.
 */
export function overlapTwoCircles(a: number, b: number, distance: number): number {
  if (distance >= a + b) return 0;
  if (distance <= Math.abs(a - b)) return Math.PI * Math.min(a, b) ** 2;
  const angle = (near: number, far: number) =>
    Math.acos(
      Math.min(1, Math.max(-1, (distance * distance + near * near - far * far) / (2 * distance * near))),
    );
  const kite = (-distance + a + b) * (distance + a - b) * (distance - a + b) * (distance + a + b);
  return a * a * angle(a, b) + b * b * angle(b, a) - Math.sqrt(Math.max(0, kite)) / 2;
}

/** Two circles nearer than this share of their radius are one: each would else hide the other's edge, or both count. */
const sameWithin = 1e-12;

function dropDoubles(circles: readonly Circle[]): Circle[] {
  return circles.filter(
    (circle, k) =>
      !circles
        .slice(0, k)
        .some(
          (other) =>
            Math.hypot(circle.x - other.x, circle.y - other.y) + Math.abs(circle.radius - other.radius) <=
            sameWithin * circle.radius,
        ),
  );
}

/** Angles on `circle` at which it meets `other`; null where `circle` lies wholly outside `other` or has no edge in it. */
function cutAngles(circle: Circle, other: Circle): [number, number] | "whole" | null {
  const [dx, dy] = [other.x - circle.x, other.y - circle.y];
  const distance = Math.hypot(dx, dy);
  if (distance + circle.radius <= other.radius) return "whole";
  if (distance >= circle.radius + other.radius || distance + other.radius <= circle.radius) return null;
  const cosine = (distance ** 2 + circle.radius ** 2 - other.radius ** 2) / (2 * distance * circle.radius);
  const half = Math.acos(Math.min(1, Math.max(-1, cosine)));
  const towards = Math.atan2(dy, dx);
  return [towards - half, towards + half];
}

/**
 * Area common to any number of discs, exact but for rounding: the edge of the common area is made of arcs, and the
 * integral of (x dy - y dx) / 2 along them is its area (Green's theorem). No disc: NaN. A disc without radius: 0.
 */
export function intersectCircles(circles: readonly Circle[]): number {
  if (circles.length === 0) return Number.NaN;
  if (circles.some(({ radius }) => !(radius > 0))) return 0;
  const apart = dropDoubles(circles);
  let area = 0;
  for (const circle of apart) {
    const cuts: [number, number][] = [];
    let hidden = false;
    for (const other of apart) {
      if (other === circle) continue;
      const cut = cutAngles(circle, other);
      if (cut === null) hidden = true;
      else if (cut !== "whole") cuts.push(cut);
    }
    if (hidden) continue;
    for (const [from, to] of keepCommon(cuts)) area += integrateArc(circle, from, to);
  }
  return Math.max(0, area);
}

/** The parts of the full turn that lie in every one of the ranges; each range is shorter than a turn. */
function keepCommon(ranges: readonly [number, number][]): [number, number][] {
  if (ranges.length === 0) return [[0, 2 * Math.PI]];
  const turn = 2 * Math.PI;
  const [start] = ranges[0];
  // Counted from the first range's start, where it is 0 to its length; another range may enter it twice.
  let kept: [number, number][] = [[0, ranges[0][1] - start]];
  for (const [from, to] of ranges.slice(1)) {
    const first = (((from - start) % turn) + turn) % turn;
    const length = to - from;
    const copies: [number, number][] = [
      [first, first + length],
      [first - turn, first - turn + length],
    ];
    kept = kept.flatMap(([a, b]) =>
      copies.flatMap(([c, d]): [number, number][] => {
        const [low, high] = [Math.max(a, c), Math.min(b, d)];
        return high > low ? [[low, high]] : [];
      }),
    );
  }
  return kept.map(([from, to]) => [from + start, to + start]);
}

function integrateArc({ x, y, radius }: Circle, from: number, to: number): number {
  return (
    (radius *
      (radius * (to - from) + x * (Math.sin(to) - Math.sin(from)) - y * (Math.cos(to) - Math.cos(from)))) /
    2
  );
}
