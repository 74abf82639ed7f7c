import { symlink } from "node:fs/promises";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { readContent } from "../../lib/records/read-content.ts";
import {
  makeContent,
  readFiles,
  readTest,
  soundTest,
  soundTrain,
  testFile,
  trainFile,
} from "./content-folder.ts";

const tableText = (more = "") =>
  `date: 2026-10-03\nstarTable:\n  file: stars.csv\n  columns: { x: X, y: Y, fwhm: W }\n${more}`;

describe("a test's record", () => {
  it("reads without a fault, with defaults filled in", async () => {
    const { content, faults } = await readTest(soundTest);
    expect(faults).toEqual([]);
    expect(content.trains[0].tests[0].record).toEqual({
      date: "2026-10-03",
      frames: ["frames/field-*.fits"],
      focusOffsetUm: 0,
      flats: [],
      bias: [],
      sweep: null,
      spacersMm: [1, 0.3],
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
    });
  });

  it("reads every key of the contract's example", async () => {
    const { faults, content } = await readTest(
      `date: 2026-10-03
frames: [frames/field-*.fits, ../../../elsewhere/*.fits, /mnt/nights/x.fits]
focusOffsetUm: [0, 50, -50]
flats: [frames/flat-*.fits]
bias: [frames/bias-*.fits]
sweep: { frames: [frames/sweep-*.fits], positions: header:FOCUSPOS, umPerStep: -1.2 }
spacersMm: []
filter: { name: clear, glass: { thicknessMm: 2.0, index: 1.517 }, wavelengthNm: 550 }
cameraAngleDeg: 0
altitudeDeg: header:OBJCTALT
guiding: { file: guiding.csv }
wind: { file: ../wind.csv }
conditions: { target: Lyra field, moon: full, ground: wet grass, temperatureC: 4, seeingNote: steady }
notes: |
  Markdown <b>with</b> "everything".
`,
      {
        "trains/tarn/tests/2026-10-03/guiding.csv": "time_s,ra_arcsec,dec_arcsec\n",
        "trains/tarn/tests/wind.csv": "time_s,speed_m_s\n",
      },
    );
    expect(faults).toEqual([]);
    const { record } = content.trains[0].tests[0];
    expect(record.conditions["temperatureC"]).toBe(4);
    expect(record.altitudeDeg).toBe("header:OBJCTALT");
    expect(record.spacersMm).toEqual([]);
  });

  it.each([
    ["date: 2026-02-30\nframes: [a.fits]", "1:7 wrong-value date", "28 days"],
    ["date: 3.10.2026\nframes: [a.fits]", "1:7 wrong-value date", "write 2026-10-03"],
    ["date: 2026-10-04\nframes: [a.fits]", "1:7 contradiction date", "write 2026-10-03"],
    ["frames: [a.fits]", "1:1 missing-key date", "date: 2026-10-03"],
    ["date: 2026-10-03\nspacersMm: [1.0]", "1:1 nothing-to-measure frames", "frames: [frames/field-*.fits]"],
    ["date: 2026-10-03\nframes: []", "2:1 nothing-to-measure frames", "frames: [frames/field-*.fits]"],
    ["date: 2026-10-03\nframes: a.fits", "2:9 wrong-value frames", "[a.fits]"],
    ["date: 2026-10-03\nframes: ['a\\b.fits']", "2:10 wrong-value frames[0]", "forward slashes"],
    [
      "date: 2026-10-03\nframes: ['https://x.org/a.fits']",
      "2:10 wrong-value frames[0]",
      "frames/field-*.fits",
    ],
    ['date: 2026-10-03\nframes: ["a\\0.fits"]', "2:10 wrong-value frames[0]", "frames/field-*.fits"],
    [
      "date: 2026-10-03\nframes: [a.fits]\nfocusOffsetUm: [0, x]",
      "3:20 wrong-value focusOffsetUm[1]",
      "number alone",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\nfocusOffsetUm: here",
      "3:16 wrong-value focusOffsetUm",
      "number alone",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\nfocusOffsetUm: [0, 50]",
      "3:16 contradiction focusOffsetUm",
      "numbers or frames",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\naltitudeDeg: header:objctalt",
      "3:14 wrong-value altitudeDeg",
      "header:OBJCTALT",
    ],
    ["date: 2026-10-03\nframes: [a.fits]\naltitudeDeg: 620", "3:14 out-of-range altitudeDeg", "in deg"],
    [
      "date: 2026-10-03\nframes: [a.fits]\nspacersMm: [300]",
      "3:13 out-of-range spacersMm[0]",
      "300 um is 0.3 mm",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\nconditions: { moon: true }",
      "3:21 wrong-value conditions.moon",
      "target",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\nconditions: { 'a b': 1 }",
      "3:15 unknown-key conditions.a b",
      "one word",
    ],
    ["date: 2026-10-03\nframes: [a.fits]\nfilters: clear", "3:1 unknown-key filters", "write filter"],
    [
      "date: 2026-10-03\nframes: [a.fits]\nwind: { file: ../../../../../x.csv }",
      "3:15 contradiction wind.file",
      "copy the file",
    ],
    [
      "date: 2026-10-03\nframes: [a.fits]\nwind: { file: /etc/hosts }",
      "3:15 wrong-value wind.file",
      "wind.csv",
    ],
  ])("%j is told at %s", async (text, expected, fix) => {
    const { faults, places, content } = await readTest(`${text}\n`);
    expect(places).toEqual([`${testFile}:${expected}`]);
    expect(faults[0].fix).toContain(fix);
    expect(content.trains[0].tests).toEqual([]);
  });

  it.each([
    ["positions: FOCUSPOS, umPerStep: 1.2", "sweep.positions", "header:FOCUSPOS"],
    ["positions: [1, 2], umPerStep: 1.2", "sweep.positions", "header:FOCUSPOS"],
    ["positions: [1, 1, 2, 2], umPerStep: 1.2", "sweep.positions", "its own focuser position"],
    ["positions: [1, 2, 3], umPerStep: 0", "sweep.umPerStep", "but not 0"],
    ["umPerStep: 1.2", "sweep.positions", "positions: header:FOCUSPOS"],
  ])("with the sweep %j is told at %s", async (sweep, key, fix) => {
    const { faults } = await readTest(`date: 2026-10-03\nsweep: { frames: [s-*.fits], ${sweep} }\n`);
    expect(faults.map((fault) => fault.key)).toEqual([key]);
    expect(faults[0].fix).toContain(fix);
  });

  it("may replace spacers only where the train's stack has a place for them", async () => {
    const withoutPlace = soundTrain.replace("  - { spacersMm: [1.0], clearDiameterMm: 50.5 }\n", "");
    const { places } = await readFiles({ [trainFile]: withoutPlace, [testFile]: soundTest });
    expect(places).toEqual([`${testFile}:3:12 contradiction spacersMm`]);
  });

  it("hands on the text of a star table beside it", async () => {
    const { content, faults } = await readTest(tableText("  units: { x: mm, y: mm, fwhm: arcsec }\n"), {
      "trains/tarn/tests/2026-10-03/stars.csv": "X,Y,W\n1,2,3\n",
    });
    expect(faults).toEqual([]);
    expect(content.trains[0].tests[0].starTableText).toBe("X,Y,W\n1,2,3\n");
  });

  it("misses a star table that is not there, unless it was measured before", async () => {
    const missing = await readTest(tableText());
    expect(missing.places).toEqual([`${testFile}:3:9 star-table-missing starTable.file`]);
    const measured = await readTest(tableText(), { "trains/tarn/tests/2026-10-03/measured.json": "{}" });
    expect(measured.faults).toEqual([]);
    expect(measured.content.trains[0].tests[0].starTableText).toBeNull();
  });

  it("hands on the text of the guider's and the wind's log beside it, and misses one that is not there", async () => {
    const record = `${soundTest}guiding: { file: guiding.csv }\nwind: { file: wind.csv }\n`;
    const log = "time_s,ra_arcsec,dec_arcsec\n0,0.1,0.2\n";
    const { content, faults } = await readTest(record, {
      "trains/tarn/tests/2026-10-03/guiding.csv": log,
      "trains/tarn/tests/2026-10-03/wind.csv": "time_s,speed_m_s\n0,2\n",
    });
    expect(faults).toEqual([]);
    expect(content.trains[0].tests[0]).toMatchObject({
      guidingText: log,
      windText: "time_s,speed_m_s\n0,2\n",
    });
    const missing = await readTest(record, { "trains/tarn/tests/2026-10-03/measured.json": "{}" });
    expect(missing.places.map((place) => place.replace(/^.*:\d+:\d+ /, ""))).toEqual([
      "log-missing guiding.file",
      "log-missing wind.file",
    ]);
  });

  it("may not reach out of the content folder for a star table through a link", async () => {
    const dir = await makeContent({ [trainFile]: soundTrain, [testFile]: tableText() });
    const outside = await makeContent({ "secret.csv": "X,Y,W\n" });
    await symlink(join(outside, "secret.csv"), join(dir, "trains/tarn/tests/2026-10-03/stars.csv"));
    const { faults, content } = await readContent(dir);
    expect(faults.map(({ found }) => found)).toEqual(["a link to a file outside the content folder"]);
    expect(content.trains[0].tests).toEqual([]);
  });

  it.each([
    [
      "columns without a full width at half maximum",
      "  columns: { x: X, y: Y, hfd: H }",
      "starTable.columns",
    ],
    ["a word that no column has", "  columns: { x: X, y: Y, fwhm: W, size: S }", "starTable.columns.size"],
    [
      "a unit that no width has",
      "  columns: { x: X, y: Y, fwhm: W }\n  units: { fwhm: deg }",
      "starTable.units.fwhm",
    ],
    [
      "a unit without its column",
      "  columns: { x: X, y: Y, fwhm: W }\n  units: { angle: deg }",
      "starTable.units.angle",
    ],
  ])("with a star table of %s is told", async (_name, lines, key) => {
    const text = `date: 2026-10-03\nstarTable:\n  file: stars.csv\n${lines}\n`;
    const { faults } = await readTest(text, { "trains/tarn/tests/2026-10-03/stars.csv": "X,Y,W\n" });
    expect(faults.map((fault) => fault.key)).toEqual([key]);
  });

  it("with both frames and a star table is told", async () => {
    const { faults } = await readTest(`${tableText()}frames: [a.fits]\n`);
    expect(faults.map(({ code, key }) => `${code} ${key}`)).toEqual(["records/contradiction starTable"]);
  });
});
