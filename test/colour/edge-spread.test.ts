import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import type { EdgeSpread } from "../../lib/colour/edge-measurement.ts";
import { addEdgeSample, makeEdgeBins, measureEdgeSpread } from "../../lib/colour/edge-spread.ts";

interface Reference {
  cases: {
    kind: "gaussian" | "moffat";
    sizePx: number;
    angleDeg: number;
    twin: { mtf50: number; spreadPx: number };
    exact: { mtf50: number; spreadPx: number; fwhmPx: number };
  }[];
}

const reference = JSON.parse(
  readFileSync(new URL("../references/edge-spread/edge-spread.json", import.meta.url), "utf8"),
) as Reference;

const [width, height, sub] = [96, 160, 5];

/** Tail of the normal distribution by its continued fraction and series (Abramowitz & Stegun 26.2.10, 26.2.14). */
function fallGaussian(t: number): number {
  const x = Math.abs(t);
  let tail: number;
  const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
  if (x < 3) {
    let [term, sum] = [x, x];
    for (let n = 1; n < 80; n++) {
      term *= (x * x) / (2 * n + 1);
      sum += term;
    }
    tail = 0.5 - density * sum;
  } else {
    let fraction = x;
    for (let n = 60; n > 0; n--) fraction = x + n / fraction;
    tail = density / fraction;
  }
  return t > 0 ? tail : 1 - tail;
}

function fallMoffat(t: number): number {
  return 0.5 - (Math.atan(t) + t / (1 + t * t)) / Math.PI;
}

/** The image that the reference's script draws, measured here. */
function measure(kind: "gaussian" | "moffat", size: number, angleDeg: number, change = (v: number) => v) {
  const fall = kind === "gaussian" ? fallGaussian : fallMoffat;
  const angle = (angleDeg * Math.PI) / 180;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const bins = makeEdgeBins(29);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      let light = 0;
      for (let k = 0; k < sub * sub; k++) {
        const u = x + ((k % sub) - (sub - 1) / 2) / sub - (width - 1) / 2;
        const v = y + (Math.floor(k / sub) - (sub - 1) / 2) / sub - (height - 1) / 2;
        light += fall((u * cos + v * sin) / size) / (sub * sub);
      }
      const distance = (x - (width - 1) / 2) * cos + (y - (height - 1) / 2) * sin;
      addEdgeSample(bins, distance, change(light));
    }
  }
  return measureEdgeSpread(bins) as EdgeSpread;
}

const measured = reference.cases.map((wanted) => ({
  ...wanted,
  own: measure(wanted.kind, wanted.sizePx, wanted.angleDeg),
}));

describe("spread of an edge", () => {
  it("agrees with closed form on 15 slanted edges: MTF50 and 90 to 10 % within 2 %, half-width within 3 %", () => {
    for (const { kind, own, exact } of measured) {
      // A Moffat edge's wings reach beyond the profile's ends, where its slope is read: its 90 to 10 % comes out short.
      const wings = kind === "moffat" ? 0.03 : 0.02;
      expect(Math.abs(own.mtf50 / exact.mtf50 - 1)).toBeLessThan(wings);
      expect(Math.abs(own.spreadPx / exact.spreadPx - 1)).toBeLessThan(wings);
      expect(Math.abs(own.fwhmPx / exact.fwhmPx - 1)).toBeLessThan(0.03);
      expect(Math.abs(own.positionPx)).toBeLessThan(0.003);
    }
  });

  it("agrees with an implementation of its own in numpy to 1.5 %", () => {
    for (const { kind, own, twin } of measured) {
      // The twin does not take the window's narrowing back, which is 1 % at the widest.
      expect(Math.abs(own.mtf50 / twin.mtf50 - 1)).toBeLessThan(kind === "moffat" ? 0.04 : 0.015);
      expect(Math.abs(own.spreadPx / twin.spreadPx - 1)).toBeLessThan(kind === "moffat" ? 0.03 : 0.015);
    }
  });

  it("does not change with brightness, sky or exposure", () => {
    const plain = measure("gaussian", 1.2, 20);
    const other = measure("gaussian", 1.2, 20, (light) => 700 + 23_000 * light);
    expect(other.mtf50).toBeCloseTo(plain.mtf50, 8);
    expect(other.spreadPx).toBeCloseTo(plain.spreadPx, 8);
    expect(other.positionPx).toBeCloseTo(plain.positionPx, 8);
  });

  it("gives nothing for a profile without an edge, or with too few samples", () => {
    const flat = makeEdgeBins(29);
    for (let k = 0; k < 4000; k++) addEdgeSample(flat, (k % 580) / 10 - 29, 500);
    expect(measureEdgeSpread(flat)).toBeNull();
    const few = makeEdgeBins(29);
    for (let k = 0; k < 20; k++) addEdgeSample(few, k - 10, k < 10 ? 100 : 0);
    expect(measureEdgeSpread(few)).toBeNull();
  });
});
