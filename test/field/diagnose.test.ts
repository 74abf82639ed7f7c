import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { calibrateBelief } from "../../lib/field/confidence.ts";
import { toEllipticity } from "../../lib/field/debias-ellipticity.ts";
import { classifySpacing, diagnose } from "../../lib/field/diagnose.ts";
import { type FieldFit, fitField } from "../../lib/field/fit-field.ts";
import { CORNERS, locateOnSensor } from "../../lib/field/geometry.ts";
import { classifyCorner, listCornerPlaces, turnToRadius } from "../../lib/field/judge-corners.ts";
import {
  drawStarTable,
  makeOptics,
  makeShapeReader,
  measureHalfDiagonal,
  type SimulatedField,
} from "./simulate-tables.ts";

type StoredCase = SimulatedField & { seed: number; nodes: number[][] };

const cases = readFileSync(new URL("../references/field-cases/cases.jsonl", import.meta.url), "utf8")
  .trim()
  .split("\n")
  .slice(4)
  .map((line) => JSON.parse(line) as StoredCase);

function fitCase(one: StoredCase, stars: number, radialMeans: "tooClose" | "unknown" = "tooClose"): FieldFit {
  const optics = makeOptics(one.train, radialMeans);
  const table = drawStarTable(makeShapeReader(one.nodes, one.train), optics, { stars, seed: 17 * one.seed });
  const fit = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: one.seed });
  if ("why" in fit) throw new Error(fit.why);
  return fit;
}

/** Tilt over the diagonal and fall of the focal surface to the corner, um; ellipticity of a star at the centre. */
function measureTruth(one: StoredCase) {
  const r = measureHalfDiagonal(one.train);
  const { tiltX = 0, tiltY = 0, curvature = 0 } = one.field;
  const [, e1, e2] = makeShapeReader(one.nodes, one.train)(0, 0);
  return {
    across: Math.hypot(tiltX, tiltY) * 2 * r,
    fallUm: curvature * r * r,
    limitUm: 2 * 0.545 * (one.train.focalLengthMm / one.train.apertureMm) ** 2,
    tracking: toEllipticity(Math.hypot(e1, e2)),
  };
}

describe("diagnose(fit, options) on simulated frames of 100 and 1,000 stars", () => {
  const judged = [100, 1000].flatMap((stars) =>
    cases.map((one) => {
      const fit = fitCase(one, stars);
      return { one, fit, truth: measureTruth(one), said: diagnose(fit, { tolerances: {}, seed: 5 }) };
    }),
  );

  it("answers for 90 % of the corners whose true ellipticity is above 0.1, and 95 % of the answers are right", () => {
    let [right, answered, asked] = [0, 0, 0];
    for (const { one, fit, said } of judged) {
      const shapes = makeShapeReader(one.nodes, one.train);
      for (const corner of CORNERS) {
        const places = listCornerPlaces(corner, fit);
        let [radial, crossed] = [0, 0];
        for (const { x, y } of places) {
          const [, e1, e2] = shapes(x, y);
          const [along, aside] = turnToRadius(e1, e2, x, y);
          radial += along / places.length;
          crossed += aside / places.length;
        }
        if (toEllipticity(Math.hypot(radial, crossed)) < 0.1) continue;
        asked++;
        if (said.corners[corner].class !== "unknown") answered++;
        if (said.corners[corner].class === classifyCorner(radial, crossed)) right++;
      }
    }
    // The calibration's 1,200 such corners: 98.8 % answered, 99.9 % of these right.
    expect(asked).toBeGreaterThan(25);
    expect(answered / asked).toBeGreaterThanOrEqual(0.9);
    expect(right / answered).toBeGreaterThanOrEqual(0.95);
  });

  it("never calls pure tracking a tilt or a spacing", () => {
    const pure = judged.filter(
      ({ truth }) =>
        truth.tracking > 0.04 && truth.across === 0 && Math.abs(truth.fallUm) < 0.5 * truth.limitUm,
    );
    expect(pure.length).toBeGreaterThan(2);
    for (const { said } of pure) {
      expect(["none", "unknown"]).toContain(said.tilt.class);
      expect(["good", "unknown"]).toContain(said.spacing.class);
      expect(said.tracking.class).toBe("present");
    }
  });

  it("never calls pure tilt a spacing", () => {
    const pure = judged.filter(
      ({ truth }) => truth.across > 40 && Math.abs(truth.fallUm) < 0.5 * truth.limitUm,
    );
    expect(pure.length).toBeGreaterThan(2);
    for (const { said } of pure) expect(["good", "unknown"]).toContain(said.spacing.class);
  });

  it("is right in 90 to 100 % of the verdicts that it gives with 90 % confidence or more", () => {
    let [right, asked] = [0, 0];
    for (const { truth, said } of judged) {
      const limit = Math.max(20, truth.limitUm / 2);
      const answers: [{ class: string; confidence: number }, string][] = [
        [said.spacing, classifySpacing(truth.fallUm, truth.limitUm)],
        [said.tilt, truth.across > limit ? "present" : "none"],
        [said.tracking, truth.tracking > 0.04 ? "present" : "none"],
      ];
      for (const [verdict, expected] of answers) {
        if (verdict.class === "unknown" || verdict.confidence < 0.9) continue;
        asked++;
        if (verdict.class === expected) right++;
      }
    }
    expect(asked).toBeGreaterThan(60);
    expect(right / asked).toBeGreaterThanOrEqual(0.95);
  });
});

describe("diagnose and what cannot be told", () => {
  const curved =
    cases.find((one) => Math.abs(measureTruth(one).fallUm) > 2 * measureTruth(one).limitUm) ?? cases[0];

  it("calls the spacing unknown without a rule, and says that the field is curved", () => {
    const said = diagnose(fitCase(curved, 1000, "unknown"), { tolerances: {}, seed: 5 });
    expect(said.spacing.class).toBe("unknown");
    expect(said.sentence).toMatch(/curved by about \d+ um/);
    expect(said.sentence).toMatch(/cannot be told from these frames/);
  });

  it("names the assumption where it uses the record's rule, and the ledger where that overrides it", () => {
    const fit = fitCase(curved, 1000);
    expect(diagnose(fit, { tolerances: {}, seed: 5 }).sentence).toMatch(/going by the record/);
    const ledger = diagnose(fit, { tolerances: {}, ledgerRadialMeans: "tooFar", seed: 5 });
    expect(ledger.sentence).toMatch(/own tests|ledger/);
    expect([ledger.spacing.class, diagnose(fit, { tolerances: {}, seed: 5 }).spacing.class].sort()).toEqual([
      "tooClose",
      "tooFar",
    ]);
  });

  it("leaves a corner without stars unknown and says so", () => {
    const optics = makeOptics(curved.train, "tooClose");
    const shapes = makeShapeReader(curved.nodes, curved.train);
    const table = drawStarTable(shapes, optics, { stars: 600, seed: 3 });
    for (let row = 0; row < table.flags.length; row++) {
      const { x, y } = locateOnSensor(optics.geometry, table.xPx[row], table.yPx[row]);
      if (x > 0 && y > 0) table.flags[row] = 4;
    }
    const fit = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: 1 });
    if ("why" in fit) throw new Error(fit.why);
    const said = diagnose(fit, { tolerances: {}, seed: 5 });
    expect(said.corners.upperRight.class).toBe("unknown");
    expect(said.corners.lowerLeft.class).not.toBe("unknown");
    expect(said.sentence).toMatch(/missing in the upper right/);
  });
});

describe("classifyCorner(radial, crossed)", () => {
  it.each([
    [0.3, 0, "radial"],
    [-0.3, 0, "tangential"],
    [0, 0.3, "oblique"],
    [0, -0.3, "oblique"],
    [0.04, 0.02, "round"],
  ])("calls (%f, %f) %s", (radial, crossed, name) => {
    expect(classifyCorner(radial, crossed)).toBe(name);
  });

  it("turns a pair at 45 degrees upwards to radial in the upper right corner", () => {
    const [radial, crossed] = turnToRadius(0, 0.2, 10, 10);
    expect(radial).toBeCloseTo(0.2, 12);
    expect(crossed).toBeCloseTo(0, 12);
  });
});

describe("calibrateBelief(kind, belief)", () => {
  it("grows with the belief and stays between 0 and 0.99", () => {
    for (const kind of ["spacing", "tilt", "tracking", "corner"] as const) {
      let before = 0;
      for (let belief = 0; belief <= 1.0001; belief += 0.05) {
        const confidence = calibrateBelief(kind, Math.min(1, belief));
        expect(confidence).toBeGreaterThanOrEqual(before);
        expect(confidence).toBeLessThanOrEqual(0.99);
        before = confidence;
      }
    }
  });
});
