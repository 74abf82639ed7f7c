import { describe, expect, it } from "vitest";
import { makeLedger } from "../../lib/ledger/make-ledger.ts";
import { makeExact, makeMeasured, type Quantity, type Unit } from "../../lib/maths/quantity.ts";
import type { TrainEntry, TrainRecord } from "../../lib/records/types.ts";
import { findCauses } from "../../lib/report/find-causes.ts";
import { findTiltSources } from "../../lib/report/find-tilt.ts";
import type { TestResults, TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const near = (value: number, half: number, unit: Unit): Quantity =>
  makeMeasured(value, unit, value - half, value + half, 200);

/** Nights at spacing errors `spacings` of a corrector whose best lies at `best` mm; sign unknown in each. */
function makeResults(spacings: readonly number[], best = 0.15): TrainResults {
  const [results] = makeSampleResults();
  const [sample] = results.tests;
  results.tests = spacings.map(
    (s, k): TestResults => ({
      ...structuredClone(sample),
      id: `night ${k + 1}`,
      spacingError: makeExact(s, "mm"),
      frames: [{ ...sample.frames[0], sha256: `digest ${k}` }],
      folded: {
        curvature: near(0.42 * (s - best), 0.01, "um/mm2"),
        astigmatism: near(-0.05, 0.005, "um/mm2"),
        tiltX: near(0.8, 0.1, "um/mm"),
        tiltY: near(-0.6, 0.1, "um/mm"),
        signKnown: false,
      },
    }),
  );
  return withLedger(results);
}

function withLedger(results: TrainResults): TrainResults {
  const entries = results.tests.map((test) => ({ test, folded: test.folded ?? null }));
  return { ...results, ledger: makeLedger(entries, results.train as TrainRecord) };
}

function find(results: TrainResults, change: (test: TestResults) => void = () => {}, tolerances = {}) {
  const latest = results.tests.at(-1)!;
  change(latest);
  const train = { record: { ...(results.train as TrainRecord), tolerances } } as TrainEntry;
  return findCauses(train, results, latest, results.tests.length - 1);
}

/** A field of which only what is asked of it matters. */
function setTilt(test: TestResults, tiltAcross: Quantity): void {
  const none = makeExact(0, "um");
  test.field = {
    defocus: none,
    tiltX: none,
    tiltY: none,
    tiltAcross,
    tiltAngle: none,
    tiltDirection: none,
    curvature: none,
    astigmatism: none,
    centre: { x: none, y: none },
    tracking: { ellipticity: near(0.12, 0.01, "ratio"), angle: near(95, 3, "deg") },
    seeing: none,
    explained: none,
    signKnown: true,
    why: "",
  };
}

describe("makeLedger(entries, state)", () => {
  it("has the best spacing, the rule that the nights tell, and a row a night", () => {
    const ledger = makeResults([-0.6, -0.2, 0.3, 0.8]).ledger!;
    expect(ledger.best.value).toBeCloseTo(0.15, 2);
    expect(ledger.radialMeans).toBe("tooClose");
    expect(ledger.rows).toHaveLength(4);
    expect(ledger.rows.map(({ curvature }) => Math.sign(curvature.value!))).toEqual([-1, -1, 1, 1]);
  });

  it("counts the same frames once, and says so", () => {
    const results = makeResults([-0.6, -0.2, 0.3, 0.8]);
    results.tests[1].frames[0].sha256 = "digest 0";
    const ledger = withLedger(results).ledger!;
    expect(ledger.notes!.join(" ")).toContain("night 2 has the very frames of night 1");
    expect(ledger.lines!.curvature!.nights).toBe(3);
  });

  it("is null without a corrector, and without any stars", () => {
    const results = makeResults([0.1]);
    const entries = results.tests.map((test) => ({ test, folded: null }));
    const record = results.train as TrainRecord;
    expect(makeLedger(entries, { ...record, corrector: null })).toBeNull();
    expect(makeLedger([{ test: { ...results.tests[0], zones: null }, folded: null }], record)).toBeNull();
  });
});

describe("findCauses(train, results, latest, index)", () => {
  it("begins with the tilt, judged by what the record allows: 60 um fail 40, 38 to 46 um watch, 30 um pass", () => {
    const results = makeResults([-0.6, 0.8, 0.16]);
    const level = (value: number, half: number) =>
      find(results, (test) => setTilt(test, near(value, half, "um")), { tiltAcrossUm: 40 })[0].level;
    expect([level(60, 5), level(42, 4), level(30, 5)]).toEqual(["fail", "watch", "pass"]);
  });

  it("does not call a sensor tilted by 19 um (13 to 26) where the diagnosis can neither tell nor rule out a tilt", () => {
    const sure = { class: "round" as const, confidence: 0.9 };
    const tell = (tilt: "unknown" | "present") =>
      find(
        makeResults([0.1]),
        (test) => {
          setTilt(test, near(19, 6.5, "um"));
          test.diagnosis = {
            spacing: { class: "good", confidence: 0.9 },
            tilt: { class: tilt, confidence: 0.6 },
            tracking: { class: "none", confidence: 0.95 },
            corners: { upperLeft: sure, upperRight: sure, lowerLeft: sure, lowerRight: sure },
            sentence: "",
          };
        },
        { tiltAcrossUm: 40 },
      )[0];
    expect(tell("unknown").sentence).toMatch(
      /is not certain: it is at most 2[56] um .* within the 40 um allowed/,
    );
    expect(tell("unknown").level).toBe("pass");
    expect(tell("present").sentence).toMatch(/^The sensor is tilted .* by 19 um/);
  });

  it("passes a ledger that says stop, and gives one that does not its move", () => {
    const stop = find(makeResults([-0.6, 0.8, 0.15])).find(({ evidence }) => evidence[0] === "ledger")!;
    expect([stop.level, stop.action]).toEqual(["pass", null]);
    const go = find(makeResults([-0.6, 0.15, 0.8])).find(({ evidence }) => evidence[0] === "ledger")!;
    expect(go.level).toBe("watch");
    expect(go.action).toContain("Take out 0.65 mm");
  });

  it("tells of stars that contradict the record by 0.6 mm", () => {
    const sentences = find(makeResults([-0.2, 0.4, 1], 0.6)).map(({ sentence }) => sentence);
    expect(sentences.join(" ")).toContain("0.60 mm longer");
  });

  it("blames the mount, not the optics, for tracking", () => {
    const found = find(makeResults([0.1]), (test) => {
      setTilt(test, near(5, 5, "um"));
      const sure = { class: "round" as const, confidence: 0.9 };
      test.diagnosis = {
        spacing: { class: "good", confidence: 0.9 },
        tilt: { class: "none", confidence: 0.9 },
        tracking: { class: "present", confidence: 0.95 },
        corners: { upperLeft: sure, upperRight: sure, lowerLeft: sure, lowerRight: sure },
        sentence: "",
      };
    });
    expect(found.map(({ sentence }) => sentence).join(" ")).toContain("the mount or the wind");
  });
});

describe("findTiltSources(tests)", () => {
  it("parts the tilt of two nights of one stack at 0 and 180 degrees", () => {
    const results = makeResults([0.1, 0.1]);
    results.tests.forEach((test, k) => {
      setTilt(test, near(20, 2, "um"));
      test.record = {
        ...test.record,
        spacersMm: [1],
        filter: "clear",
        cameraAngleDeg: 180 * k,
        altitudeDeg: 60,
      };
      test.field!.tiltX = near(k === 0 ? 0.5 : 1.5, 0.1, "um/mm");
      test.field!.tiltY = near(0, 0.1, "um/mm");
    });
    const sources = findTiltSources(results.tests)!;
    expect(sources.camera!.x.value).toBeCloseTo(1, 9);
    expect(sources.tube!.x.value).toBeCloseTo(-0.5, 9);
  });

  it("is null with one test", () => {
    expect(findTiltSources(makeResults([0.1]).tests)).toBeNull();
  });
});
