import { describe, expect, it } from "vitest";
import { fitSweep, type SweepRequest } from "../../lib/field/sweep.ts";
import { fitHyperbola } from "../../lib/field/sweep-hyperbola.ts";
import { readSweepPositions } from "../../lib/field/sweep-positions.ts";
import type { KnownQuantity, Quantity } from "../../lib/maths/quantity.ts";
import { drawSweep, type SurfacePlan, type SweepPlan, sweepGeometry } from "./draw-sweep.ts";

const tilted: SurfacePlan = {
  defocusUm: 10,
  tiltX: 0.75,
  tiltY: -0.95,
  curvature: -0.22,
  astigmatism: -0.09,
  centreMm: { x: 0.4, y: -0.3 },
};
const nine = [-120, -90, -60, -30, 0, 30, 60, 90, 120];
const seeing = [2.5, 2.7, 2.4, 2.6, 2.8, 2.5, 2.6, 2.4, 2.7];

function request(plan: Partial<SweepPlan> = {}): SweepRequest {
  const frames = drawSweep({
    seed: 3,
    surface: tilted,
    positionsUm: nine,
    seeingArcsec: seeing,
    stars: 350,
    noise: 0.05,
    ...plan,
  });
  return { frames, geometry: sweepGeometry, focalRatio: 636 / 115, obstruction: 0, wavelengthUm: 0.55 };
}

function known(quantity: Quantity | undefined): KnownQuantity {
  if (quantity === undefined || quantity.value === null) throw new Error(JSON.stringify(quantity));
  return quantity;
}

/** rms over the sensor of the difference of two surfaces, free of a common height, um. */
function compareSurfaces(
  sweep: NonNullable<ReturnType<typeof fitSweep>["sweep"]>,
  truth: SurfacePlan,
): number {
  const differences: number[] = [];
  const [x0, y0] = [known(sweep.centre?.x).value, known(sweep.centre?.y).value];
  for (let x = -11.5; x < 12; x += 1.15) {
    for (let y = -7.7; y < 8; y += 1.1) {
      const found =
        known(sweep.tiltX).value * x +
        known(sweep.tiltY).value * y +
        known(sweep.curvature).value * ((x - x0) ** 2 + (y - y0) ** 2);
      const real =
        truth.tiltX * x +
        truth.tiltY * y +
        truth.curvature * ((x - truth.centreMm.x) ** 2 + (y - truth.centreMm.y) ** 2);
      differences.push(found - real);
    }
  }
  const mean = differences.reduce((sum, value) => sum + value, 0) / differences.length;
  return Math.sqrt(differences.reduce((sum, value) => sum + (value - mean) ** 2, 0) / differences.length);
}

describe("fitHyperbola(positions, widths)", () => {
  const positions = [-120, -70, -20, 30, 80, 130];
  // y = a sqrt(1 + ((x - c) / b)^2) with a 2, b 40, c 5 (ISO 11146-1: the square is a parabola).
  const widths = [6.562202, 4.25, 2.358495, 2.358495, 4.25, 6.562202];

  it("finds 5, 2 and 40 from six points of a hyperbola with these constants", () => {
    const fit = fitHyperbola(positions, widths)!;
    expect(fit.best).toBeCloseTo(5, 5);
    expect(fit.least).toBeCloseTo(2, 5);
    expect(fit.reach).toBeCloseTo(40, 4);
  });

  it("finds 5 from positions -60 to 120 in steps of 20, where a parabola in the width itself gives 6.474", () => {
    const lopsided = Array.from({ length: 10 }, (_, k) => -60 + 20 * k);
    const fit = fitHyperbola(
      lopsided,
      lopsided.map((x) => 2 * Math.sqrt(1 + ((x - 5) / 40) ** 2)),
    )!;
    expect(fit.best).toBeCloseTo(5, 6);
  });

  it("holds within 0.5 um against one width of six that is 60 % wrong, and leaves out NaN", () => {
    const steps = [-150, -120, -90, -60, -30, 0, 30, 60, 90, 120, 150];
    const right = steps.map((x) => 2 * Math.sqrt(1 + ((x - 5) / 40) ** 2));
    const wrong = right.map((width, k) => (k === 3 ? 1.6 * width : k === 9 ? Number.NaN : width));
    expect(Math.abs(fitHyperbola(steps, wrong)!.best - 5)).toBeLessThan(0.5);
  });

  it("gives nothing for two positions, or widths with no least", () => {
    expect(fitHyperbola([0, 0, 10, 10], [3, 3, 4, 4])).toBeNull();
    expect(fitHyperbola([0, 10, 20, 30], [3, 4, 4.5, 4.7])).toBeNull();
  });
});

describe("fitSweep(request) on stars drawn by physical optics", () => {
  const { sweep, warnings } = fitSweep(request());

  it("finds the surface of nine positions within 2 um rms, tilt within 4 um across, curvature within 5 %", () => {
    expect(warnings).toEqual([]);
    expect(compareSurfaces(sweep!, tilted)).toBeLessThan(2);
    const across = Math.hypot(known(sweep!.tiltX).value - 0.75, known(sweep!.tiltY).value + 0.95) * 28.26;
    expect(across).toBeLessThan(4);
    expect(Math.abs(known(sweep!.curvature).value / -0.22 - 1)).toBeLessThan(0.05);
    expect(Math.abs(known(sweep!.astigmatism).value / -0.09 - 1)).toBeLessThan(0.08);
  });

  it("holds the true values in its intervals, the best position among them", () => {
    const meanSquare = (sweepGeometry.sensorWidthMm ** 2 + sweepGeometry.sensorHeightMm ** 2) / 12 + 0.25;
    const truths: [Quantity, number][] = [
      [sweep!.tiltX, 0.75],
      [sweep!.tiltY, -0.95],
      [sweep!.curvature, -0.22],
      [sweep!.astigmatism, -0.09],
      [sweep!.bestPosition, -(10 - 0.22 * meanSquare)],
      [sweep!.tiltDirection, (Math.atan2(-0.95, 0.75) * 180) / Math.PI],
      [sweep!.steepness!, 1],
    ];
    for (const [quantity, truth] of truths) {
      expect(known(quantity).lo).toBeLessThanOrEqual(truth);
      expect(known(quantity).hi).toBeGreaterThanOrEqual(truth);
    }
  });

  it("finds a surface one of whose foci is nearly flat, c -0.12 and A -0.09, within 3 um rms, 4 um across and 5 %", () => {
    const surface = { ...tilted, tiltX: 0.7, tiltY: -0.5, curvature: -0.12 };
    const { sweep: flat } = fitSweep(request({ surface, seed: 5 }));
    expect(compareSurfaces(flat!, surface)).toBeLessThan(3);
    const across = Math.hypot(known(flat!.tiltX).value - 0.7, known(flat!.tiltY).value + 0.5) * 28.26;
    expect(across).toBeLessThan(4);
    expect(Math.abs(known(flat!.curvature).value / -0.12 - 1)).toBeLessThan(0.05);
    expect(Math.abs(known(flat!.astigmatism).value / -0.09 - 1)).toBeLessThan(0.08);
  });

  it("finds the surface within 4 um rms without astigmatism, where tilt and a shifted centre are one, and its tilt's interval says so (seeds 1 to 6)", () => {
    const surface = { ...tilted, astigmatism: 0 };
    const across = Math.hypot(tilted.tiltX, tilted.tiltY) * 28.26;
    for (let seed = 1; seed <= 6; seed++) {
      const { sweep: found } = fitSweep(request({ surface, seed }));
      expect(compareSurfaces(found!, surface)).toBeLessThan(4);
      const tilt = known(found!.tiltAcross);
      expect(tilt.lo).toBeLessThan(across);
      expect(tilt.hi).toBeGreaterThan(across);
    }
  });

  it("says of each corner what the common focus costs, most where the surface lies farthest", () => {
    const corners = sweep!.corners!;
    const costs = Object.values(corners).map(({ cost }) => known(cost).value);
    expect(Math.min(...costs)).toBeGreaterThanOrEqual(1);
    expect(known(corners.upperLeft.cost).value).toBe(Math.max(...costs));
    expect(known(sweep!.zones.upperLeft.best).value).toBeLessThan(known(sweep!.zones.lowerRight.best).value);
  });

  it("agrees cell by cell with the surface: 40 cells or more, within 2.5 um rms", () => {
    expect(sweep!.mesh!.xMm.length).toBeGreaterThan(40);
    expect(known(sweep!.mesh!.residual).value).toBeLessThan(2.5);
  });

  it("keeps the surface within 3 um rms with unequal steps, positions off by 3 um and tracking that changes", () => {
    const surface = { ...tilted, curvature: 0.3, astigmatism: 0.06 };
    const found = fitSweep(
      request({
        seed: 4,
        surface,
        positionsUm: [-130, -100, -55, -40, -10, 15, 60, 80, 125],
        positionErrorUm: [3, -3, 2, -1, 3, -2, 1, -3, 2],
        tracking: nine.map((_, k) => ({ e1: 3 * Math.sin(k), e2: 3 * Math.cos(2 * k) })),
      }),
    ).sweep!;
    expect(compareSurfaces(found, surface)).toBeLessThan(3);
  });

  it("keeps it within 3 um where stars drop out of the far positions: those more than 110 um out of focus", () => {
    const found = fitSweep(request({ seed: 5, found: (at, height) => Math.abs(at + height) < 110 })).sweep!;
    expect(compareSurfaces(found, tilted)).toBeLessThan(3);
  });

  it("says which way to go on where the sweep ends before a corner's best focus", () => {
    const steep = { ...tilted, tiltX: 4, tiltY: 0 };
    const found = fitSweep(
      request({ seed: 6, surface: steep, positionsUm: [-5, 10, 25, 40, 55, 70, 85, 100, 115] }),
    ).sweep!;
    const quantity = found.zones.lowerRight.best;
    expect(quantity.value).toBeNull();
    expect(quantity.value === null ? quantity.why : "").toContain("go on inwards");
  });

  it("tells a lag of 25 um of a focuser that went out and came back, within 6 um", () => {
    const there = [-120, -60, 0, 60, 120, 90, 30, -30, -90];
    const lag = there.map((_, k) => (k > 4 ? -25 : 0));
    const found = fitSweep(request({ seed: 7, positionsUm: there, positionErrorUm: lag })).sweep!;
    // A sensor that lags stands farther out than its position says.
    expect(Math.abs(known(found.lag ?? undefined).value - 25)).toBeLessThan(6);
    expect(found.notes!.join(" ")).toContain("both ways");
  });

  it("doubts umPerStep where positions are told 30 % too small", () => {
    const wrong = request({ seed: 8 });
    const frames = wrong.frames.map((frame) => ({ ...frame, positionUm: frame.positionUm * 0.7 }));
    const found = fitSweep({ ...wrong, frames });
    expect(found.warnings.join(" ")).toContain("umPerStep");
    expect(known(found.sweep!.steepness).value).toBeCloseTo(1 / 0.7, 0);
  });

  it("gives a sentence in place of a surface with three positions, or with frames of 20 stars", () => {
    const few = request({ positionsUm: [-60, 0, 60], seeingArcsec: [2.5, 2.5, 2.5] });
    expect(fitSweep(few).sweep).toBeNull();
    expect(fitSweep(few).warnings.join(" ")).toContain("3 usable positions");
    const poor = fitSweep(request({ stars: 20 }));
    expect(poor.sweep).toBeNull();
    expect(poor.warnings.join(" ")).toContain("20 usable stars");
  });
});

describe("readSweepPositions(request)", () => {
  const frames = ["a", "b", "c"].map((name, k) => ({
    file: `${name}.fits`,
    asked: { FOCUSPOS: String(5000 + 50 * k) },
  }));
  const base = {
    positions: "header:FOCUSPOS",
    umPerStep: 1.2,
    frames,
    recordFile: "trains/t/tests/n/test.yaml",
  };

  it("reads steps of the header and turns them into um", () => {
    expect(readSweepPositions(base)).toEqual({ positionsUm: [6000, 6060, 6120] });
  });

  it.each([
    ["a list of 2 for 3 frames", { positions: [1, 2] }, "2 positions for 3 frames"],
    ["equal positions", { positions: [7, 7, 7] }, "all at position 7"],
    ["a header without the keyword", { positions: "header:FOCPOS" }, "no FOCPOS in the header"],
    ["a step of 0 um", { umPerStep: 0 }, "0"],
  ])("finds fault with %s", (_, change, found) => {
    const result = readSweepPositions({ ...base, ...change });
    expect("faults" in result ? result.faults.map((fault) => fault.found).join(" ") : "").toContain(found);
  });
});
