import { describe, expect, it } from "vitest";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { judgeAtMost, stateChange, stateQuantity } from "../../lib/maths/state-quantity.ts";
import { MEASUREMENT_FORMAT, type TestMeasurement } from "../../lib/measured/test-measurement.ts";
import type { TestEntry, TrainEntry, TrainRecord } from "../../lib/records/types.ts";
import { makeAllTestResults } from "../../lib/report/make-all-test-results.ts";
import { makeTrainResults } from "../../lib/report/make-train-results.ts";
import type { Finding, TrainResults } from "../../lib/report/results.ts";
import type { FrameMeasurement } from "../../lib/stars/frame-measurement.ts";
import type { StarTable } from "../../lib/stars/star-table.ts";
import { drawTables } from "../field/draw-tables.ts";
import { sampleNativeTrain, sampleReducedTrain } from "../fixtures/sample-trains.ts";

const level = { median: 500, lo: 499, hi: 501, cells: 100 };

function makeFrame(
  stars: StarTable,
  place: number,
  header: Partial<FrameMeasurement["header"]> = {},
): FrameMeasurement {
  return {
    file: `frames/field-${place}.fits`,
    sha256: String(place).repeat(64),
    key: String(place),
    format: "fits",
    widthPx: 6248,
    heightPx: 4176,
    header: {
      kind: "light",
      exposureS: 60,
      filter: "clear",
      dateObs: null,
      binning: null,
      pixelPitchUm: 3.76,
      focalLengthMm: null,
      wcsScaleArcsecPerPx: null,
      wcsRotationDeg: null,
      altitudeDeg: null,
      focuserPosition: null,
      asked: {},
      cropOriginPx: null,
      ...header,
    },
    warnings: [],
    channels: [
      {
        channel: "L",
        found: stars.flags.length,
        background: level,
        noise: level,
        gainElectronsPerAdu: 1,
        gainIs: "given",
        moffatBeta: 3,
        starsLearnedFrom: 99,
        warnings: [],
        stars,
      },
    ],
  };
}

function makeMeasurement(
  tables: StarTable[],
  header: Partial<FrameMeasurement["header"]> = {},
): TestMeasurement {
  const settings = { cfa: null, gainElectronsPerAdu: null, readNoiseElectrons: null, saturationAdu: null };
  const frames = tables.map((table, place) => makeFrame(table, place + 1, header));
  return { format: MEASUREMENT_FORMAT, code: "00", settings, frames, crops: [] };
}

const source = { file: "x.yaml", text: "", sha256: "0".repeat(64) };

function makeEntry(id: string, more: Partial<TestEntry["record"]> = {}): TestEntry {
  const record: TestEntry["record"] = {
    date: id.slice(0, 10),
    frames: ["frames/*.fits"],
    focusOffsetUm: 0,
    flats: [],
    bias: [],
    sweep: null,
    spacersMm: null,
    filter: null,
    cameraAngleDeg: null,
    altitudeDeg: null,
    zenithAngleDeg: null,
    starTable: null,
    edge: null,
    guiding: null,
    wind: null,
    conditions: {},
    notes: "",
    ...more,
  };
  return { id, dir: `/content/${id}`, record, source, starTableText: null };
}

function report(
  record: TrainRecord,
  nights: { entry: TestEntry; measurement: TestMeasurement | null }[],
): TrainResults {
  const tests = nights.map(({ entry }) => entry);
  const train: TrainEntry = {
    id: "tarn",
    dir: "/content",
    record,
    source,
    partSources: [],
    review: null,
    tests,
  };
  const measured = makeAllTestResults(
    train,
    (test) => nights.find(({ entry }) => entry === test)?.measurement ?? null,
  );
  const site = { title: "", author: "A", club: "", baseUrl: "", language: "en", tolerances: {} };
  return makeTrainResults({
    train,
    tests: measured,
    content: { site, siteSource: null },
    software: "test 0",
  });
}

const find = (results: TrainResults, words: string): Finding | undefined =>
  results.findings.find(({ sentence }) => sentence.includes(words));

const tolerances = { cornerFwhmOverCentre: 1.25, cornerEllipticity: 0.2, spacingErrorMm: 0.2 };
const native: TrainRecord = { ...sampleNativeTrain, tolerances };

/** Widths that grow with the square of rho up to `growth` in the very corner. */
const grow = (growth: number) => (x: number, y: number) => ({
  fwhmPx: 3 * (1 + growth * ((x * x + y * y) / 199.6)),
  e1: 0,
  e2: 0,
});

describe("judging against a tolerance", () => {
  const quantity = (value: number, half: number) => {
    const made = makeMeasured(value, "ratio", value - half, value + half, 50);
    if (made.value === null) throw new Error("known");
    return made;
  };

  it("passes with the whole interval inside, fails with all of it beyond, else watches", () => {
    expect(judgeAtMost(quantity(1.2, 0.05), 1.25)).toBe("pass");
    expect(judgeAtMost(quantity(1.2, 0.06), 1.25)).toBe("watch");
    expect(judgeAtMost(quantity(1.3, 0.06), 1.25)).toBe("watch");
    expect(judgeAtMost(quantity(1.32, 0.06), 1.25)).toBe("fail");
  });

  it("states as many digits as the interval carries", () => {
    expect(stateQuantity(quantity(2.8412, 0.0321), "px")).toBe("2.84 px (2.81 to 2.87)");
    expect(stateQuantity(quantity(0.1234, 0.0021))).toBe("0.123 (0.121 to 0.126)");
    expect(stateChange(quantity(1.264, 0.045))).toBe("26 % (22 to 31 %)");
  });
});

describe("findings", () => {
  it("pass a flat field and fail one whose corners are 38 % wider, by the 25 % allowed (seed 81)", () => {
    const night = (growth: number) => [
      {
        entry: makeEntry("2026-10-03"),
        measurement: makeMeasurement(drawTables({ seed: 81, stars: 2500, frames: 3, shape: grow(growth) })),
      },
    ];
    expect(find(report(native, night(0.02)), "Stars in the corners are")?.level).toBe("pass");
    // Medians of rho squared are 0.74 in the corners and 0.03 in the centre: (1 + 0.55 x 0.74) / (1 + 0.55 x 0.03) = 1.385.
    const failed = find(report(native, night(0.55)), "Stars in the corners are");
    expect(failed?.level).toBe("fail");
    expect(failed?.sentence).toMatch(
      /^Stars in the corners are 3[789] % \(3\d to [34]\d %\) wider than those in the centre; beyond the 25 % allowed\.$/,
    );
    expect(report(native, night(0.55)).findings[0]).toEqual(failed);
  });

  it("tell which of two opposite corners is wider, with its interval, and stay silent where both are alike", () => {
    const tilted = drawTables({
      seed: 82,
      stars: 3000,
      frames: 2,
      shape: (x, y) => ({ fwhmPx: 3 * (1 + 0.01 * (x - y)), e1: 0, e2: 0 }),
    });
    const results = report(native, [
      { entry: makeEntry("2026-10-03"), measurement: makeMeasurement(tilted) },
    ]);
    expect(find(results, "opposite")?.sentence).toMatch(
      /^Stars in the lower right corner are \d\d % .* than in the opposite upper left corner/,
    );
    const even = drawTables({ seed: 83, stars: 3000, frames: 2 });
    const level = report(native, [{ entry: makeEntry("2026-10-03"), measurement: makeMeasurement(even) }]);
    expect(find(level, "opposite")).toBeUndefined();
  });

  it("say when the long axes point outward in all four corners, and when across", () => {
    const night = (size: number) => {
      const shape = (x: number, y: number) => {
        const twice = 2 * Math.atan2(y, x);
        return { fwhmPx: 3, e1: size * Math.cos(twice), e2: size * Math.sin(twice) };
      };
      return [
        {
          entry: makeEntry("2026-10-03"),
          measurement: makeMeasurement(drawTables({ seed: 84, stars: 2000, frames: 2, shape })),
        },
      ];
    };
    expect(find(report(native, night(0.1)), "point away from the centre")?.level).toBe("note");
    expect(find(report(native, night(-0.1)), "lie across")?.level).toBe("note");
    expect(find(report(native, night(0)), "long axes")).toBeUndefined();
  });

  it("compare the latest test with the one before, whatever the seeing of either night", () => {
    const night = (id: string, growth: number, seeing: number, spacersMm: number[]) => {
      const tables = drawTables({
        seed: 85,
        stars: 2500,
        frames: 2,
        shape: (x, y) => ({ ...grow(growth)(x, y), fwhmPx: seeing * grow(growth)(x, y).fwhmPx }),
      });
      return { entry: makeEntry(id, { spacersMm }), measurement: makeMeasurement(tables) };
    };
    const results = report({ ...sampleReducedTrain, tolerances }, [
      night("2026-10-09", 0.1, 1.4, [1, 0.5]),
      night("2026-10-03", 0.5, 1, [1]),
    ]);
    expect(results.tests.map(({ date }) => date)).toEqual(["2026-10-03", "2026-10-09"]);
    expect(find(results, "narrower from")?.sentence).toMatch(
      /became 2\d % .* narrower from 3 October 2026 to 9 October 2026, spacers 1 mm before and 1 \+ 0\.5 mm now\.$/,
    );
  });

  it("call stars below 2 px undersampled and say so of the best night", () => {
    const tables = drawTables({
      seed: 86,
      stars: 800,
      frames: 2,
      shape: () => ({ fwhmPx: 1.6, e1: 0, e2: 0 }),
    });
    const results = report(native, [
      { entry: makeEntry("2026-10-03"), measurement: makeMeasurement(tables) },
    ]);
    expect(find(results, "undersampled")?.level).toBe("watch");
  });

  it("without any star say what the records say, and that nothing was measured", () => {
    const results = report({ ...sampleReducedTrain, tolerances }, []);
    expect(find(results, "No test is on record yet")).toBeDefined();
    expect(results.backFocus).not.toBeNull();
    expect(report(native, []).backFocus).toBeNull();
  });
});

describe("a test's results", () => {
  const tables = drawTables({ seed: 87, stars: 900, frames: 3 });

  it("take the scale of a plate solution over the record's", () => {
    const measurement = makeMeasurement(tables, { wcsScaleArcsecPerPx: 0.97 });
    const { tests, sampling } = report(native, [{ entry: makeEntry("2026-10-03"), measurement }]);
    expect(tests[0].scale.arcsecPerPx).toBeCloseTo(0.97, 6);
    expect(tests[0].scale.from).toBe("plate solution");
    expect(sampling.focalLength.value).toBeCloseTo((206.264806 * 3.76) / 0.97, 3);
  });

  it("leave frames out that were set out of focus on purpose", () => {
    const entry = makeEntry("2026-10-03", { focusOffsetUm: [0, 80, -80] });
    const { tests } = report(native, [{ entry, measurement: makeMeasurement(tables) }]);
    expect(tests[0].frames).toHaveLength(3);
    expect(tests[0].starField?.frames.every((count) => count === 1)).toBe(true);
    expect(tests[0].warnings.join(" ")).toContain("2 of 3 frames were taken out of focus on purpose");
  });

  it("name a frame of another field and leave it out", () => {
    const [other] = drawTables({ seed: 88, stars: 900, frames: 1 });
    const { tests } = report(native, [
      { entry: makeEntry("2026-10-03"), measurement: makeMeasurement([...tables, other]) },
    ]);
    expect(tests[0].warnings.join(" ")).toContain("frames/field-4.fits shows another field");
  });

  it("read the altitude from the header where the record asks for it", () => {
    const entry = makeEntry("2026-10-03", { altitudeDeg: "header:OBJCTALT" });
    const measurement = makeMeasurement(tables, { asked: { OBJCTALT: "61.5" } });
    expect(report(native, [{ entry, measurement }]).tests[0].record.altitudeDeg).toBe(61.5);
  });

  it("come from a star table where the record gives one instead of frames", () => {
    const stars = Array.from(
      { length: 300 },
      (_, i) => `${((i * 37) % 620) * 10},${((i * 53) % 410) * 10},${3 + (i % 5) * 0.01}`,
    );
    const starTable = { file: "stars.csv", columns: { x: "X", y: "Y", fwhm: "W" }, units: {} };
    const entry = {
      ...makeEntry("2026-10-03", { frames: [], starTable }),
      starTableText: `X,Y,W\n${stars.join("\n")}\n`,
    };
    const { tests } = report(native, [{ entry, measurement: null }]);
    expect(tests[0].zones?.middle.fwhm.px.value).toBeCloseTo(3.02, 2);
    expect(tests[0].zones?.middle.ellipticity.value).toBeNull();
    expect(tests[0].warnings.join(" ")).toContain("measured elsewhere");
  });
});
