import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { makeFieldResults } from "../../lib/field/field-results.ts";
import { type FieldFit, type FieldOptics, fitField } from "../../lib/field/fit-field.ts";
import type { Quantity } from "../../lib/maths/quantity.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";
import {
  drawStarTable,
  makeOptics,
  makeShapeReader,
  measureHalfDiagonal,
  type SimulatedField,
} from "./simulate-tables.ts";

type StoredCase = SimulatedField & {
  seed: number;
  nodes: number[][];
  offsetUm?: number;
  movedNodes?: number[][];
};

function readCases(name: string): StoredCase[] {
  const file = new URL(`../references/field-cases/${name}`, import.meta.url);
  return readFileSync(file, "utf8")
    .trim()
    .split("\n")
    .map((line) => JSON.parse(line) as StoredCase);
}

const cases = readCases("cases.jsonl").slice(0, 12);
const pairs = readCases("pairs.jsonl");

function fitCase(one: StoredCase, stars: number, optics: FieldOptics): FieldFit {
  const table = drawStarTable(makeShapeReader(one.nodes, one.train), optics, { stars, seed: 31 * one.seed });
  const fit = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: one.seed });
  if ("why" in fit) throw new Error(fit.why);
  return fit;
}

function getTilt(one: StoredCase): { across: number; directionDeg: number } {
  const { tiltX = 0, tiltY = 0 } = one.field;
  return {
    across: Math.hypot(tiltX, tiltY) * 2 * measureHalfDiagonal(one.train),
    directionDeg: (Math.atan2(tiltY, tiltX) * 180) / Math.PI,
  };
}

function halfWidth(quantity: Quantity): number {
  return quantity.value === null ? 0 : (quantity.hi - quantity.lo) / 2;
}

function turnBetween(a: number, b: number): number {
  return Math.abs(((((a - b) % 360) + 540) % 360) - 180);
}

describe("fitField(frames, optics, options) on one frame of 1,000 stars, by the corrector's rule", () => {
  const fitted = cases.map((one) => {
    const optics = makeOptics(one.train, "tooClose");
    const fit = fitCase(one, 1000, optics);
    return { one, optics, fit, results: makeFieldResults(fit) };
  });

  const isNear = ({ one, results: { tiltAcross } }: (typeof fitted)[number]): boolean => {
    const { across } = getTilt(one);
    return tiltAcross.value !== null && Math.abs(tiltAcross.value - across) <= Math.max(8, 0.15 * across);
  };

  // What is left is information: the README of test/references/field-cases tells in how many frames the bound of Cramer and
  // Rao lies inside this target.
  it("finds the tilt across the sensor within 15 % or 8 um in 75 % of the cases", () => {
    expect(fitted.filter(isNear).length / fitted.length).toBeGreaterThanOrEqual(0.75);
  });

  it("finds it within 15 % or 8 um in every case whose interval is as narrow as that", () => {
    const narrow = fitted.filter(({ one, results: { tiltAcross } }) => {
      return tiltAcross.value !== null && halfWidth(tiltAcross) <= Math.max(8, 0.15 * getTilt(one).across);
    });
    expect(narrow.length).toBeGreaterThanOrEqual(4);
    expect(narrow.filter(isNear).length).toBe(narrow.length);
  });

  it("holds the true tilt in the interval of at least 10 of 12 cases", () => {
    const held = fitted.filter(({ one, results: { tiltAcross } }) => {
      const { across } = getTilt(one);
      return tiltAcross.value !== null && tiltAcross.lo <= across && across <= tiltAcross.hi;
    });
    expect(held.length).toBeGreaterThanOrEqual(10);
  });

  it("finds the direction of tilts within 10 degrees in 85 % of the cases where it states one", () => {
    const stated = fitted.filter(({ one, results }) => {
      return results.tiltDirection.value !== null && getTilt(one).across > 0;
    });
    expect(stated.length).toBeGreaterThan(fitted.length / 3);
    const right = stated.filter(({ one, results }) => {
      return turnBetween(results.tiltDirection.value ?? Number.NaN, getTilt(one).directionDeg) <= 10;
    });
    expect(right.length / stated.length).toBeGreaterThanOrEqual(0.85);
  });

  it("finds the curvature within 20 %, or 8 um at the corner, in 85 % of the cases that state it", () => {
    const stated = fitted.filter(({ results }) => results.curvature.value !== null);
    expect(stated.length / fitted.length).toBeGreaterThan(0.7);
    const right = stated.filter(({ one, results }) => {
      const { curvature = 0 } = one.field;
      const allowed = Math.max(0.2 * Math.abs(curvature), 8 / measureHalfDiagonal(one.train) ** 2);
      return Math.abs((results.curvature.value ?? Number.NaN) - curvature) <= allowed;
    });
    // The rest is curvature and astigmatism exchanged, which the field's `why` says.
    expect(right.length / stated.length).toBeGreaterThanOrEqual(0.85);
  });

  // All widths of a table are off by 0.8 %, one sigma, as a learned profile makes them.
  it("finds the seeing within 5 %, and within 2 % in two thirds of the cases", () => {
    const off = fitted.map(({ one, results }) => {
      return Math.abs((results.seeing.value ?? Number.NaN) / one.seeingArcsec - 1);
    });
    expect(Math.max(...off)).toBeLessThan(0.05);
    expect(off.filter((share) => share < 0.02).length).toBeGreaterThanOrEqual((2 * off.length) / 3);
  });

  it("explains at least 90 % of the variation over the field in 85 % of the cases that have some, and never below 80 %", () => {
    const stated = fitted.filter(({ results }) => results.explained.value !== null);
    expect(stated.length / fitted.length).toBeGreaterThanOrEqual(0.5);
    // The tables' 0.5 % scatter from star to star is in no stated error, and so counts as not explained.
    const shares = stated.map(({ results }) => results.explained.value ?? 0);
    expect(shares.filter((share) => share >= 90).length / shares.length).toBeGreaterThanOrEqual(0.85);
    expect(Math.min(...shares)).toBeGreaterThan(80);
  });

  it("holds the truth of tilt, curvature and defocus in 88 to 100 % of its 95 % intervals", () => {
    let [held, asked] = [0, 0];
    for (const { one, results } of fitted) {
      if (!results.signKnown) continue;
      const truths = [one.field.tiltX, one.field.tiltY, one.field.curvature, one.field.defocusUm];
      const stated = [results.tiltX, results.tiltY, results.curvature, results.defocus];
      stated.forEach((quantity, k) => {
        const truth = truths[k] ?? 0;
        asked++;
        if (quantity.value !== null && quantity.lo <= truth && truth <= quantity.hi) held++;
      });
    }
    expect(asked).toBeGreaterThan(30);
    expect(held / asked).toBeGreaterThanOrEqual(0.88);
  });

  it("gives the same numbers for the same seed", () => {
    const { one, optics, fit } = fitted[0];
    expect(fitCase(one, 1000, optics).parameters).toEqual(fit.parameters);
  });

  it("keeps lo <= value <= hi and no NaN in every quantity", () => {
    for (const { results } of fitted) {
      for (const quantity of [
        ...Object.values(results),
        ...Object.values(results.unsigned),
        ...Object.values(results.tracking),
      ]) {
        if (typeof quantity !== "object" || !("value" in quantity) || quantity.value === null) continue;
        expect(quantity.lo).toBeLessThanOrEqual(quantity.value);
        expect(quantity.hi).toBeGreaterThanOrEqual(quantity.value);
      }
    }
  });
});

describe("the sign of the heights", () => {
  const blur = ({ field, train }: StoredCase): number =>
    Math.abs(field.curvature ?? 0) *
    (measureHalfDiagonal(train) * (train.apertureMm / train.focalLengthMm)) ** 2;
  const one = [...cases].sort((a, b) => blur(b) - blur(a))[0];

  it("is unknown for one frame without a rule: curvature, defocus and direction are null, sizes stay", () => {
    const results = makeFieldResults(fitCase(one, 1000, makeOptics(one.train, "unknown")));
    expect(results.signKnown).toBe(false);
    for (const quantity of [
      results.defocus,
      results.curvature,
      results.astigmatism,
      results.tiltX,
      results.tiltDirection,
    ]) {
      expect(quantity.value).toBeNull();
    }
    expect(results.unsigned.curvature.value).toBeCloseTo(Math.abs(one.field.curvature ?? 0), 1);
    expect(results.tiltAcross.value).not.toBeNull();
    expect(results.why).toMatch(/One more frame/);
  });

  it("turns over with the opposite rule, and a ledger's word goes before the record's", () => {
    const close = makeFieldResults(fitCase(one, 1000, makeOptics(one.train, "tooClose")));
    const fit = fitCase(one, 1000, makeOptics(one.train, "tooFar"));
    const far = makeFieldResults(fit);
    const ledger = makeFieldResults(fit, { ledgerRadialMeans: "tooClose" });
    expect(far.curvature.value).toBeCloseTo(-(close.curvature.value ?? 0), 3);
    expect(ledger.curvature.value).toBeCloseTo(close.curvature.value ?? 0, 3);
    expect(ledger.why).toMatch(/this train's own tests|ledger/);
  });

  it("comes from a second frame at a known focus offset, whatever the rule says, in all stored pairs", () => {
    for (const pair of pairs) {
      const optics = makeOptics(pair.train, "tooFar");
      const tables = [pair.nodes, pair.movedNodes ?? []].map((nodes, k) =>
        drawStarTable(makeShapeReader(nodes, pair.train), optics, { stars: 500, seed: 71 * pair.seed + k }),
      );
      const fit = fitField(
        [
          { stars: tables[0], focusOffsetUm: 0 },
          { stars: tables[1], focusOffsetUm: pair.offsetUm ?? 0 },
        ],
        optics,
        { seed: pair.seed },
      );
      if ("why" in fit) throw new Error(fit.why);
      const results = makeFieldResults(fit);
      const r2 = measureHalfDiagonal(pair.train) ** 2;
      expect(results.signKnown).toBe(true);
      expect(Math.abs(((results.curvature.value ?? 0) - (pair.field.curvature ?? 0)) * r2)).toBeLessThan(
        Math.max(8, 0.15 * Math.abs((pair.field.curvature ?? 0) * r2)),
      );
      expect(Math.abs((results.tiltAcross.value ?? 0) - getTilt(pair).across)).toBeLessThan(
        // Each frame has faults of its own, as measured frames have: the interval says so.
        Math.max(10, 0.15 * getTilt(pair).across, halfWidth(results.tiltAcross)),
      );
    }
  });
});

describe("fitField and a frame turned upside down", () => {
  it("mirrors tilt and centre in y within 3 um across, and keeps curvature and seeing", () => {
    const one = [...cases].sort((a, b) => getTilt(b).across - getTilt(a).across)[0];
    const optics = makeOptics(one.train, "tooClose");
    const table = drawStarTable(makeShapeReader(one.nodes, one.train), optics, { stars: 800, seed: 9 });
    const upright = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: 4 });
    const turned = {
      ...table,
      yPx: table.yPx.map((y) => optics.geometry.heightPx - 1 - y),
      e2: table.e2.map((e2) => -e2),
      angleDeg: table.angleDeg.map((angle) => (180 - angle) % 180),
    };
    const mirrored = fitField([{ stars: turned, focusOffsetUm: 0 }], optics, { seed: 4 });
    if ("why" in upright || "why" in mirrored) throw new Error("no fit");
    const [first, second] = [makeFieldResults(upright), makeFieldResults(mirrored)];
    const across = 2 * measureHalfDiagonal(one.train);
    expect(Math.abs((first.tiltY.value ?? 0) + (second.tiltY.value ?? 0)) * across).toBeLessThan(3);
    expect(Math.abs((first.tiltX.value ?? 0) - (second.tiltX.value ?? 0)) * across).toBeLessThan(3);
    expect(second.curvature.value).toBeCloseTo(first.curvature.value ?? 0, 2);
    expect(second.seeing.value).toBeCloseTo(first.seeing.value ?? 0, 2);
  });
});

describe("fitField and bad input", () => {
  // A case whose tilt is told to within 9 um, so that what bad rows do would show.
  const one = cases[4];
  const optics = makeOptics(one.train, "tooClose");

  it("says how many stars it found and needs where there are 29", () => {
    const table = drawStarTable(makeShapeReader(one.nodes, one.train), optics, { stars: 29, seed: 1 });
    expect(fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: 1 })).toEqual({
      why: "Only 29 usable stars: the field model needs 30 or more.",
    });
  });

  it("says so for no frames, empty tables, and a focal ratio of zero", () => {
    expect(fitField([], optics, { seed: 1 })).toHaveProperty("why");
    expect(fitField([{ stars: makeStarTable(0), focusOffsetUm: 0 }], optics, { seed: 1 })).toHaveProperty(
      "why",
    );
    const flat = { ...optics, focalRatio: 0 };
    expect(fitField([{ stars: makeStarTable(50), focusOffsetUm: 0 }], flat, { seed: 1 })).toHaveProperty(
      "why",
    );
  });

  it("leaves out NaN, infinite and flagged rows, and stays within 5 um of the tilt without them", () => {
    const table = drawStarTable(makeShapeReader(one.nodes, one.train), optics, { stars: 1000, seed: 2 });
    const clean = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: 1 });
    for (let row = 0; row < 100; row++) {
      if (row % 4 === 0) table.fwhmMajorPx[row] = Number.NaN;
      if (row % 4 === 1) table.e1[row] = Number.POSITIVE_INFINITY;
      if (row % 4 === 2) table.fwhmMinorPx[row] = 0;
      if (row % 4 === 3) table.flags[row] = 2;
    }
    const spoilt = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: 1 });
    if ("why" in clean || "why" in spoilt) throw new Error("no fit");
    const across = (fit: FieldFit): number => makeFieldResults(fit).tiltAcross.value ?? Number.NaN;
    expect(Math.abs(across(clean) - across(spoilt))).toBeLessThan(5);
  });
});
