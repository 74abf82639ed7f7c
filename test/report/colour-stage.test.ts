import { describe, expect, it } from "vitest";
import type { SweepResults } from "../../lib/field/sweep.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import type { TrainEntry } from "../../lib/records/types.ts";
import { type ColouredTest, stageColour } from "../../lib/report/colour-stage.ts";
import { findColour } from "../../lib/report/find-colour.ts";
import type { StarTable } from "../../lib/stars/star-table.ts";
import { drawTables } from "../field/draw-tables.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const halfDiagonalMm = Math.hypot(6248, 4176) * 0.00188;
const [sample] = makeSampleResults();
const train = { id: "t", record: sample.train, tests: [] } as unknown as TrainEntry;

/** The same sky at another scale, as a filter with lateral colour shows it, places known to 0.02 px. */
function stretch(table: StarTable, ppm: number, seed: number): StarTable {
  const factor = 1 + ppm / 1e6;
  const normal = makeNormalRandom(makeRandom(seed));
  const error = new Float64Array(table.flags.length).fill(0.02);
  return {
    ...table,
    xErrPx: error,
    yErrPx: error,
    xPx: table.xPx.map((x) => 3123.5 + (x - 3123.5) * factor + 0.02 * normal()),
    yPx: table.yPx.map((y) => 2087.5 + (y - 2087.5) * factor + 0.02 * normal()),
  };
}

interface Wanted {
  filter: string;
  ppm: number;
  dither: { x: number; y: number; turnDeg: number };
  bestUm?: number;
  date?: string;
  spacersMm?: number[];
}

/** A test through one filter: two frames of a sky that all share, each test pointed a little differently. */
function makeTest({
  filter,
  ppm,
  dither,
  bestUm,
  date = "2026-10-03",
  spacersMm = [1],
}: Wanted): ColouredTest {
  const [first] = sample.tests;
  const id = `${date}-${filter}`;
  const tables = drawTables({
    seed: 601,
    stars: 900,
    frames: 2,
    dither: [dither, { ...dither, x: dither.x + 4 }],
  }).map((table, k) => stretch(table, ppm, 700 + ppm + k));
  const frames = tables.map((stars, k) => ({
    file: `${id}-${k}.fits`,
    widthPx: 6248,
    heightPx: 4176,
    header: { binning: null, cropOriginPx: null },
    channels: [{ channel: "L", stars }],
  }));
  const best = bestUm === undefined ? null : makeMeasured(bestUm, "um", bestUm - 2, bestUm + 2, 9);
  const results = {
    ...structuredClone(first),
    id,
    date,
    record: { ...first.record, filter },
    sweep: best === null ? null : ({ bestPosition: best } as SweepResults),
    colour: null,
  };
  const record = {
    date,
    spacersMm,
    cameraAngleDeg: 0,
    focusOffsetUm: 0,
    zenithAngleDeg: null,
    conditions: {},
    filter: { name: filter },
    edge: null,
  };
  return {
    test: { id, record },
    measurement: { frames },
    results,
    fitSweep: () => null,
  } as unknown as ColouredTest;
}

const red = { filter: "R", ppm: 60, dither: { x: 12, y: -7, turnDeg: 0.05 } };
const green = { filter: "G", ppm: 0, dither: { x: 0, y: 0, turnDeg: 0 } };
const blue = { filter: "B", ppm: -100, dither: { x: -9, y: 15, turnDeg: -0.03 } };

describe("stageColour(train, tests)", () => {
  it("compares three tests of one evening through filters: lateral colour of 60 and -100 ppm within 0.05 um, no shift of the field", () => {
    const tests = stageColour(train, [red, green, blue].map(makeTest));
    const [{ colour }] = tests;
    expect(colour?.from).toBe("filters");
    expect(colour?.reference).toBe("G");
    expect(colour?.tests).toEqual(["2026-10-03-R", "2026-10-03-G", "2026-10-03-B"]);
    for (const { colour: same } of tests) expect(same).toBe(colour);
    const truth: Record<string, number> = { R: 0.06 * halfDiagonalMm, B: -0.1 * halfDiagonalMm };
    for (const pair of colour!.pairs) {
      const { value } = pair.lateralAtCorner;
      expect(Math.abs((value ?? Number.NaN) - truth[pair.of])).toBeLessThan(0.05);
      expect(pair.constantShift.size.value).toBeNull();
      expect(pair.frames).toBe(2);
      expect(pair.stars).toBeGreaterThan(700);
    }
  });

  it("keeps apart other evenings, other spacers and a filter used twice, and leaves a single filter without colour", () => {
    const tests = stageColour(train, [
      makeTest(red),
      makeTest({ ...blue, date: "2026-10-04" }),
      makeTest({ ...green, spacersMm: [1.3] }),
      makeTest({ ...red, filter: "r" }),
    ]);
    expect(tests.map(({ colour }) => colour)).toEqual([null, null, null, null]);
  });

  it("gives best focus by filter from the sweeps, and says by how much to refocus beyond the depth of focus", () => {
    const swept = [
      { ...red, bestUm: 1012 },
      { ...green, bestUm: 1000 },
      { ...blue, bestUm: 960 },
    ];
    const tests = stageColour(train, swept.map(makeTest));
    const channels = tests[0].colour!.channels;
    expect(channels.R.bestFocusOffset.value).toBeCloseTo(12, 9);
    expect(channels.G.bestFocusOffset).toMatchObject({ value: 0, lo: 0, hi: 0 });
    // Two half-widths of 2 um, added in squares.
    expect(channels.B.bestFocusOffset).toMatchObject({ value: -40 });
    expect((channels.B.bestFocusOffset as { hi: number }).hi + 40).toBeCloseTo(2 * Math.SQRT2, 9);
    const findings = findColour(tests, 20);
    const focus = findings.find(({ name }) => name === "focus-b");
    expect(focus?.level).toBe("watch");
    expect(focus?.sentence).toContain("nearer to the telescope than in green");
    expect(focus?.action).toMatch(/Refocus for each filter: move the focuser in by 40 um/);
    expect(findings.find(({ name }) => name === "focus-r")?.level).toBe("note");
  });

  it("finds blue’s lateral colour of a third of a pixel and more worth a warning, red’s not, each with its evidence", () => {
    const tests = stageColour(train, [red, green, blue].map(makeTest));
    const findings = findColour(tests, null);
    const warned = findings.filter(({ level }) => level === "watch");
    expect(warned.map(({ name }) => name)).toEqual(["lateral-colour-b"]);
    expect(warned[0].evidence).toEqual(["tests.0.colour.pairs.1.lateralAtCorner"]);
    expect(warned[0].action).toContain("a scale of their own");
    const passed = findings.find(({ name }) => name === "lateral-colour");
    expect(passed?.level).toBe("pass");
    expect(passed?.evidence).toEqual(["tests.0.colour.pairs.0.lateralAtCorner"]);
    expect(findColour([], null)).toEqual([]);
  });

  it("says that the shift of the whole field is more than the air's where it is, and asks for the altitude where it is not on record", () => {
    const [first, ...rest] = stageColour(train, [red, green, blue].map(makeTest));
    const change = (expected: ReturnType<typeof makeUnknown> | ReturnType<typeof makeMeasured>) => {
      const colour = structuredClone(first.colour!);
      const [pair] = colour.pairs;
      pair.constantShift = {
        size: makeMeasured(0.9, "um", 0.85, 0.95, 900),
        angle: makeMeasured(80, "deg", 77, 83, 900),
      };
      pair.expectedFromAir = expected;
      pair.beyondAir = makeMeasured(0.6, "um", 0.5, 0.7, 900);
      return findColour([{ ...first, colour }, ...rest.map((test) => ({ ...test, colour: null }))], null);
    };
    const beyond = change(makeMeasured(0.3, "um", 0.25, 0.35, 1)).find(
      ({ name }) => name === "field-shift-r",
    );
    expect(beyond?.level).toBe("watch");
    expect(beyond?.sentence).toContain("more than the air explains");
    const unknown = change(makeUnknown("um", "no altitude")).find(({ name }) => name === "field-shift-r");
    expect(unknown?.level).toBe("note");
    expect(unknown?.action).toBe("Add altitudeDeg to the test.");
  });
});
