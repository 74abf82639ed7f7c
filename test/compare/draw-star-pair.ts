import type { SkyList } from "../../lib/compare/sky-list.ts";
import { makeNormalRandom, makeRandom, type Random } from "../../lib/maths/random.ts";

/** How one camera sees a made-up sky. */
export interface DrawnView {
  widthPx: number;
  heightPx: number;
  /** px of a sky unit (a radian where f is in px). */
  focalPx: number;
  /** Turn of the sky on the frame, degrees counter-clockwise, and where the sky's middle lies from the frame's, px. */
  turnDeg: number;
  shiftPx: { x: number; y: number };
  mirrored?: boolean;
  /** Growth of radii at the corner, a share, cubic. */
  distortion?: number;
  /** Faintest magnitude, share of the stars that are lost at random, stars of the list's own (artefacts, noise). */
  faintest: number;
  lost?: number;
  strangers?: number;
  /** Error of positions, px, and of magnitudes. */
  errorPx: number;
  errorMag?: number;
}

export interface DrawnSky {
  u: Float64Array;
  v: Float64Array;
  magnitude: Float64Array;
}

/** Stars spread evenly over a square of the tangent plane; counts grow by 10^(0.38 m). Magnitudes 0 (rare) to 10. */
export function drawSky(count: number, halfSize: number, seed: number): DrawnSky {
  const random = makeRandom(seed);
  const column = (draw: () => number) => Float64Array.from({ length: count }, draw);
  return {
    u: column(() => (2 * random() - 1) * halfSize),
    v: column(() => (2 * random() - 1) * halfSize),
    magnitude: column(() => 10 + Math.log10(1 - random()) / 0.38),
  };
}

/** The list that a view gives of a sky, brightest first, and which star of the sky each is (-1: a stranger). */
export function drawView(sky: DrawnSky, view: DrawnView, seed: number): { list: SkyList; star: number[] } {
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const turn = (view.turnDeg * Math.PI) / 180;
  const half = Math.hypot(view.widthPx, view.heightPx) / 2;
  const rows: { x: number; y: number; magnitude: number; star: number }[] = [];
  for (let star = 0; star < sky.u.length; star++) {
    if (sky.magnitude[star] > view.faintest || random() < (view.lost ?? 0)) continue;
    const [u, v] = [sky.u[star] * view.focalPx, sky.v[star] * view.focalPx];
    let x = Math.cos(turn) * u - Math.sin(turn) * v + view.shiftPx.x;
    let y = Math.sin(turn) * u + Math.cos(turn) * v + view.shiftPx.y;
    const growth = 1 + (view.distortion ?? 0) * ((x * x + y * y) / half ** 2);
    x = x * growth * (view.mirrored ? -1 : 1) + view.errorPx * normal();
    y = y * growth + view.errorPx * normal();
    addRow(rows, view, x, y, sky.magnitude[star] + (view.errorMag ?? 0.05) * normal(), star);
  }
  addStrangers(rows, view, random);
  rows.sort((left, right) => left.magnitude - right.magnitude);
  const list: SkyList = {
    x: Float64Array.from(rows, ({ x }) => x),
    y: Float64Array.from(rows, ({ y }) => y),
    error: new Float64Array(rows.length).fill(Math.max(view.errorPx, 0.01)),
    widthPx: view.widthPx,
    heightPx: view.heightPx,
  };
  return { list, star: rows.map(({ star }) => star) };
}

/** From the frame's middle, y up, to the list's coordinates: x from the left edge, y minus the row. */
function addRow(
  rows: { x: number; y: number; magnitude: number; star: number }[],
  view: DrawnView,
  x: number,
  y: number,
  magnitude: number,
  star: number,
): void {
  const [column, row] = [(view.widthPx - 1) / 2 + x, (view.heightPx - 1) / 2 - y];
  if (column < 0 || row < 0 || column > view.widthPx - 1 || row > view.heightPx - 1) return;
  rows.push({ x: column, y: -row, magnitude, star });
}

function addStrangers(
  rows: { x: number; y: number; magnitude: number; star: number }[],
  view: DrawnView,
  random: Random,
): void {
  for (let k = 0; k < (view.strangers ?? 0); k++) {
    const [x, y] = [(random() - 0.5) * view.widthPx, (random() - 0.5) * view.heightPx];
    addRow(rows, view, x, y, view.faintest + Math.log10(1 - random()) / 0.38, -1);
  }
}
