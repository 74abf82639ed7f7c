import { describe, expect, it } from "vitest";
import { tellShapes, tellSpokes } from "../../lib/draw/shape-findings.ts";
import { makeExact, makeMeasured } from "../../lib/maths/quantity.ts";
import type { Corner, TestResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const corners: readonly Corner[] = ["upperLeft", "upperRight", "lowerLeft", "lowerRight"];

type CornerClass = NonNullable<TestResults["diagnosis"]>["corners"]["upperLeft"]["class"];

/** A test whose corners all stretch by `radial`, are judged `judged`, and whose mount draws stars out by `tracking`. */
function makeTest(
  radial: number,
  judged: CornerClass,
  tracking: { ellipticity: number; angle: number } | null,
): TestResults {
  const [test] = makeSampleResults()[0].tests;
  if (!test.zones) throw new Error("the first sample test has zones");
  for (const corner of corners) {
    test.zones[corner].radial = makeMeasured(radial, "ratio", radial - 0.01, radial + 0.01, 100);
  }
  const sure = { confidence: 0.95 };
  const verdict = { class: judged, ...sure };
  test.diagnosis = {
    spacing: { class: "good", ...sure },
    tilt: { class: "none", ...sure },
    tracking: { class: tracking === null ? "none" : "present", ...sure },
    corners: { upperLeft: verdict, upperRight: verdict, lowerLeft: verdict, lowerRight: verdict },
    sentence: "",
  };
  const none = makeExact(0, "um");
  const { ellipticity, angle } = tracking ?? { ellipticity: 0.01, angle: 0 };
  test.field = {
    defocus: none,
    tiltX: none,
    tiltY: none,
    tiltAcross: none,
    tiltAngle: none,
    tiltDirection: none,
    curvature: none,
    astigmatism: none,
    centre: { x: none, y: none },
    tracking: {
      ellipticity: makeMeasured(ellipticity, "ratio", ellipticity - 0.01, ellipticity + 0.01, 100),
      angle: makeMeasured(angle, "deg", angle - 1, angle + 1, 100),
    },
    seeing: none,
    explained: none,
    signKnown: true,
    why: "",
  };
  return test;
}

describe("titles of how stars are drawn out", () => {
  it("name the corner where stars stretch by 0.08 along the radius and are judged so", () => {
    const test = makeTest(0.08, "radial", null);
    expect(tellShapes(test)).toBe("Stars stretch along the radius, most in the upper left");
    expect(tellSpokes(test)).toContain("stretch along the radius");
  });

  it("say of no other corner that it stretches where only the upper right is not judged round", () => {
    const test = makeTest(-0.05, "round", null);
    if (test.diagnosis) test.diagnosis.corners.upperRight = { class: "tangential", confidence: 0.9 };
    expect(tellShapes(test)).toBe("Stars stretch across the radius in the upper right");
  });

  it("say no more of a corner than the diagnosis, where that cannot tell its shape at 0.07 across the radius", () => {
    const test = makeTest(-0.07, "round", null);
    if (test.diagnosis) {
      test.diagnosis.corners.upperRight = { class: "unknown", confidence: 0.69 };
      test.diagnosis.corners.lowerLeft = { class: "unknown", confidence: 0.6 };
    }
    expect(tellShapes(test)).toBe("Stars are round except perhaps in the upper right and lower left");
    expect(tellSpokes(test)).not.toContain("stretch");
    expect(tellShapes(makeTest(-0.07, "unknown", null))).toBe(
      "Whether the corners’ stars are round is not certain",
    );
  });

  it("say that stars are round where the diagnosis calls all four corners round, at 0.05 across the radius", () => {
    const test = makeTest(-0.05, "round", null);
    expect(tellShapes(test)).toBe("Stars are round in all four corners");
    expect(tellSpokes(test)).not.toContain("stretch");
  });

  it("name the tracking first where it draws all stars out by 0.07 and corners stretch by 0.07", () => {
    const test = makeTest(0.07, "radial", { ellipticity: 0.07, angle: 5 });
    expect(tellShapes(test)).toBe("Tracking draws all stars out alike, along 5 degrees");
  });

  it("name the corner where tracking of 0.03 is less than half of a stretch of 0.13", () => {
    expect(tellShapes(makeTest(0.13, "radial", { ellipticity: 0.03, angle: 5 }))).toContain(
      "along the radius",
    );
  });
});
