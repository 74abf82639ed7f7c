import { describe, expect, it } from "vitest";
import { traceContours } from "../../lib/draw/contour-lines.ts";
import { formatCsv } from "../../lib/draw/format-csv.ts";
import { listFigures } from "../../lib/draw/list-figures.ts";
import { computeMoves } from "../../lib/field/moves.ts";
import { fitSweep } from "../../lib/field/sweep.ts";
import { makeLedger } from "../../lib/ledger/make-ledger.ts";
import { makeExact, makeMeasured } from "../../lib/maths/quantity.ts";
import type { TrainRecord } from "../../lib/records/types.ts";
import type { TrainResults } from "../../lib/report/results.ts";
import { drawSweep, sweepGeometry } from "../field/draw-sweep.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const surface = {
  defocusUm: 10,
  tiltX: 1.2,
  tiltY: -0.9,
  curvature: -0.349,
  astigmatism: -0.11,
  centreMm: { x: 0.4, y: -0.3 },
};
const positionsUm = [-100, -60, -20, 20, 60, 100];
const { sweep } = fitSweep({
  frames: drawSweep({
    seed: 9,
    surface,
    positionsUm,
    seeingArcsec: positionsUm.map(() => 2.6),
    stars: 250,
    noise: 0.05,
  }),
  geometry: sweepGeometry,
  focalRatio: 636 / 115,
  obstruction: 0,
  wavelengthUm: 0.55,
});

/** A train of which one test has a sweep and the others a surface up to its sign. */
function makeResults(change: (results: TrainResults) => void = () => {}): TrainResults {
  const [results] = makeSampleResults();
  const near = (value: number, half: number, unit: "um/mm" | "um/mm2") =>
    makeMeasured(value, unit, value - half, value + half, 200);
  results.tests.forEach((test, k) => {
    const s = [-0.68, 0.82, 0.12][k];
    test.spacingError = makeExact(s, "mm");
    test.folded = {
      curvature: near(-0.063 + 0.42 * s, 0.02, "um/mm2"),
      astigmatism: near(-0.09 + 0.03 * s, 0.01, "um/mm2"),
      tiltX: near(0.8, 0.1, "um/mm"),
      tiltY: near(-0.9, 0.1, "um/mm"),
      signKnown: false,
    };
  });
  const [first] = results.tests;
  first.sweep = sweep;
  const train = results.train as TrainRecord;
  first.moves = computeMoves({
    tilt: {
      tiltX: sweep!.tiltX,
      tiltY: sweep!.tiltY,
      across: sweep!.tiltAcross,
      signKnown: true,
      from: "sweep",
    },
    adjuster: {
      screws: [90, 210, 330].map((angleDeg) => ({ angleDeg, radiusMm: 35 })),
      pitchMm: 0.5,
    },
    sensor: first.sensor,
    allowedUm: undefined,
    focalRatio: 5.5,
    obstruction: 0,
    widthUm: 8,
  });
  results.train = {
    ...train,
    adjuster: { screws: [90, 210, 330].map((angleDeg) => ({ angleDeg, radiusMm: 35 })), pitchMm: 0.5 },
  };
  results.ledger = makeLedger(
    results.tests.map((test) => ({ test, folded: test.folded ?? null })),
    train,
  );
  change(results);
  return results;
}

const draw = (results: TrainResults) =>
  listFigures(results, () => null).filter(({ id }) => /^fig-(relief|sweep|moves|ledger)/.test(id));

describe("the figures of causes and moves", () => {
  const figures = draw(makeResults());
  const find = (start: string) => figures.find(({ id }) => id.startsWith(start))!;

  it("are there for the test with a sweep, and the ledger for the train", () => {
    expect(figures.map(({ id }) => id)).toEqual([
      "fig-ledger",
      "fig-relief-2026-10-03",
      "fig-sweep-2026-10-03",
      "fig-moves-2026-10-03",
    ]);
  });

  it("state findings in at most 15 words and print no NaN", () => {
    for (const figure of figures) {
      expect(figure.title.split(" ").length, figure.title).toBeLessThanOrEqual(15);
      const text = `${figure.svg}${formatCsv(figure.data)}${JSON.stringify(figure.chart)}${figure.alternative}`;
      expect(text).not.toMatch(/NaN|undefined|Infinity|\[object/);
    }
  });

  it("name the corner, the screw and the best spacing that the numbers give", () => {
    expect(find("fig-relief").title).toContain("upper left");
    expect(find("fig-relief").svg).toContain("within ±34 µm: the depth of focus");
    expect(find("fig-sweep").title).toContain("upper left");
    expect(find("fig-moves").title).toContain("Screw");
    expect(find("fig-ledger").title).toMatch(/^Corners are best at \+0\.1/);
  });

  it("give the same bytes twice and keep hostile names out of the markup", () => {
    expect(JSON.stringify(draw(makeResults()))).toBe(JSON.stringify(figures));
    const hostile = draw(
      makeResults((results) => {
        results.name = '"><script>alert(1)</script>';
        for (const row of results.ledger!.rows) row.test = "=1+1<script>";
      }),
    );
    for (const { svg, data } of hostile) {
      expect(svg).not.toContain("<script");
      expect(formatCsv(data)).not.toMatch(/(^|,)=/m);
    }
  });

  it("are left out where signs or the sweep are not known", () => {
    const plain = draw(
      makeResults((results) => {
        results.tests[0].sweep = null;
        results.tests[0].moves = null;
        results.ledger = null;
      }),
    );
    expect(plain).toEqual([]);
  });
});

describe("traceContours(height, box, levels)", () => {
  const box = { left: -10, right: 10, bottom: -6, top: 6 };

  it("finds a circle of radius 5 about (1, -0.5) as one closed run, within 0.02", () => {
    const [{ runs }] = traceContours((x, y) => (x - 1) ** 2 + (y + 0.5) ** 2, box, [25]);
    expect(runs).toHaveLength(1);
    for (const [x, y] of runs[0]) expect(Math.abs(Math.hypot(x - 1, y + 0.5) - 5)).toBeLessThan(0.02);
    expect(Math.hypot(runs[0][0][0] - runs[0].at(-1)![0], runs[0][0][1] - runs[0].at(-1)![1])).toBeLessThan(
      1e-6,
    );
  });

  it("finds the straight contour of a plane from edge to edge, and none beyond its heights", () => {
    const [inside, outside] = traceContours((x, y) => x + 0.1 * y, box, [2, 40]);
    expect(inside.runs).toHaveLength(1);
    const ends = inside.runs[0].map(([, y]) => y);
    expect([Math.min(...ends), Math.max(...ends)]).toEqual([-6, 6]);
    expect(outside.runs).toEqual([]);
  });
});
