import { describe, expect, it } from "vitest";
import { fitEdgeShift } from "../../lib/colour/compare-edge.ts";
import type { EdgeStretch } from "../../lib/colour/edge-measurement.ts";
import { measureEdge } from "../../lib/colour/measure-edge.ts";
import { median } from "../../lib/maths/statistics.ts";
import { type DrawnMoon, drawMoon } from "./draw-edge.ts";

const channels: DrawnMoon["channels"] = {
  R: { sigmaPx: 1.1, dxPx: 0.3, dyPx: -0.2, growPx: 0.1 },
  G: { sigmaPx: 0.9, dxPx: 0, dyPx: 0, growPx: 0 },
  B: { sigmaPx: 1.4, dxPx: -0.25, dyPx: 0.3, growPx: -0.15 },
};

const full: DrawnMoon = {
  widthPx: 720,
  heightPx: 700,
  cfa: "RGGB",
  xPx: 350.3,
  yPx: 341.7,
  radiusPx: 300,
  channels,
  discAdu: 20_000,
  skyAdu: 600,
  noiseAdu: 60,
  seed: 11,
};

const measure = (moon: DrawnMoon, saturationAdu = 65_535) =>
  measureEdge({
    channels: drawMoon(moon),
    main: moon.cfa === "none" ? "L" : "G",
    arcsecPerPx: 930 / moon.radiusPx,
    saturationAdu,
  });

const fullDisc = measure(full);

const read = (stretches: readonly EdgeStretch[], channel: string, key: "spreadPx" | "mtf50") =>
  median(stretches.map((stretch) => stretch.channels[channel][key]));

/** Of a Gaussian with the pixel's variance in it. */
const sampled = (sigmaPx: number) => Math.sqrt(sigmaPx * sigmaPx + 1 / 12);

describe("the Moon's limb", () => {
  it("of a full disc through a filter array gives its circle to 0.05 px and each colour's spread and MTF50 to 2 %", () => {
    const { circle, stretches } = fullDisc;
    expect(Math.hypot(circle!.xPx - full.xPx, circle!.yPx - full.yPx)).toBeLessThan(0.05);
    expect(Math.abs(circle!.radiusPx - full.radiusPx)).toBeLessThan(0.05);
    expect(stretches.length).toBeGreaterThan(12);
    for (const [channel, { sigmaPx }] of Object.entries(channels)) {
      const spread = 2.563103 * sampled(sigmaPx);
      expect(Math.abs(read(stretches, channel, "spreadPx") / spread - 1)).toBeLessThan(0.02);
      const mtf50 = Math.sqrt(Math.LN2 / 2) / (Math.PI * sampled(sigmaPx));
      expect(Math.abs(read(stretches, channel, "mtf50") / mtf50 - 1)).toBeLessThan(0.02);
    }
  });

  it("gives shifts of 0.2 to 0.3 px between colours and a larger disc in red to 0.02 px", () => {
    const { stretches } = fullDisc;
    for (const channel of ["R", "B"]) {
      const shift = fitEdgeShift(stretches, channel, "G")!;
      const truth = channels[channel];
      expect(Math.abs(shift.grow.value - truth.growPx)).toBeLessThan(0.02);
      expect(Math.abs(shift.x.value - truth.dxPx)).toBeLessThan(0.02);
      // y of the results points up.
      expect(Math.abs(shift.y.value + truth.dyPx)).toBeLessThan(0.02);
    }
  });

  it("keeps to the bright limb of a gibbous Moon with mountains of 0.8 px and a darkened limb", () => {
    const gibbous = {
      ...full,
      phase: { angleDeg: 30, reach: 0.4 },
      terrain: { amplitudePx: 0.8, waves: 9 },
      darkening: 0.2,
    };
    const { circle, stretches } = measure(gibbous);
    expect(Math.hypot(circle!.xPx - full.xPx, circle!.yPx - full.yPx)).toBeLessThan(2);
    for (const { angleDeg } of stretches) {
      // The Sun stands at 30 degrees, y down: at 330 as displayed. Its side of the limb reaches 90 degrees either way.
      expect(Math.cos(((angleDeg + 30) * Math.PI) / 180)).toBeGreaterThan(-0.1);
    }
    expect(stretches.length).toBeGreaterThan(4);
    for (const [channel, { sigmaPx }] of Object.entries(channels)) {
      const spread = 2.563103 * sampled(sigmaPx);
      expect(Math.abs(read(stretches, channel, "spreadPx") / spread - 1)).toBeLessThan(0.03);
    }
    const shift = fitEdgeShift(stretches, "R", "G")!;
    expect(Math.abs(shift.x.value - 0.3)).toBeLessThan(0.05);
    expect(Math.abs(shift.y.value - 0.2)).toBeLessThan(0.05);
  });

  it("says so where there is no Moon, where it is of another size, and where it is saturated", () => {
    const noise = measure({ ...full, discAdu: 0 });
    expect(noise.circle).toBeNull();
    expect(noise.warnings[0]).toContain("No bright border");
    const small = measureEdge({
      channels: drawMoon({ ...full, radiusPx: 120 }),
      main: "G",
      arcsecPerPx: 930 / 300,
      saturationAdu: 65_535,
    });
    expect(small.stretches).toEqual([]);
    const saturated = measure(full, 15_000);
    expect(saturated.stretches).toEqual([]);
    expect(saturated.warnings[0]).toContain("saturat");
  });
});
