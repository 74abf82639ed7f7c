import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { readContent } from "../../lib/records/read-content.ts";
import { makeContent, readFiles, soundTest, soundTrain, testFile, trainFile } from "./content-folder.ts";

const parts = `telescopes:
  tarn-115: { name: Tarnlight 115, apertureMm: 115, focalLengthMm: 805 }
  tarn-80: { name: Tarnlight 80, apertureMm: 80, focalLengthMm: 480 }
correctors:
  r79: { name: Tarnlight R79, kind: reducer, factor: 0.79, backFocusMm: 55 }
cameras:
  heron-26: { name: Heron 26, widthPx: 6248, heightPx: 4176, pixelPitchUm: 3.76, flangeMm: 17.5 }
filters:
  ha: { name: H alpha, wavelengthNm: 656 }
rings:
  m54: { part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }
`;
const byId = `name: By id
telescope: tarn-115
corrector: { id: r79, exitPupilMm: 320 }
stack:
  - m54
  - { id: m54, lengthMm: 20, offsetMm: { x: 0.5, y: 0 } }
camera: { id: heron-26 }
`;

describe("readContent", () => {
  it("puts parts in place of their ids, keys beside an id before the part's own", async () => {
    const { content, faults } = await readFiles({
      "parts/all.yaml": parts,
      [trainFile]: byId,
      [testFile]: "date: 2026-10-03\nframes: [a.fits]\nfilter: ha\n",
    });
    expect(faults).toEqual([]);
    const { record, partSources, tests } = content.trains[0];
    expect(record.telescope.focalLengthMm).toBe(805);
    expect(record.corrector).toMatchObject({
      name: "Tarnlight R79",
      radialMeans: "unknown",
      exitPupilMm: 320,
    });
    expect(record.camera.windowGlass).toEqual({ thicknessMm: 0, index: 1.517 });
    expect(record.stack[1]).toEqual({
      part: "M54 ring",
      lengthMm: 20,
      clearDiameterMm: 50.5,
      offsetMm: { x: 0.5, y: 0 },
    });
    expect(tests[0].record.filter).toEqual({ name: "H alpha", wavelengthNm: 656 });
    expect(partSources.map(({ file }) => file)).toEqual(["parts/all.yaml"]);
    expect(partSources[0].text).toBe(parts);
  });

  it("names the known ids nearest first where an id is unknown", async () => {
    const { faults, places } = await readFiles({
      "parts/all.yaml": parts,
      [trainFile]: byId.replace("tarn-115", "tarn-8O").replace("{ id: heron-26 }", "{ id: ../heron }"),
    });
    expect(places).toEqual([
      `${trainFile}:2:12 unknown-part telescope`,
      `${trainFile}:7:15 unknown-part camera.id`,
    ]);
    expect(faults[0].allowed).toBe("tarn-80, tarn-115");
  });

  it("tells a fault of a part once, in the part's own file, however many trains name it", async () => {
    const { places, content } = await readFiles({
      "parts/all.yaml": parts
        .replace("pixelPitchUm: 3.76", "pixelPitchUm: 3760")
        .replace("factor: 0.79", "factor: 1.27"),
      [trainFile]: byId,
      "trains/other/train.yaml": byId.replace("By id", "Other"),
    });
    expect(places).toEqual([
      "parts/all.yaml:5:54 contradiction correctors.r79.factor",
      "parts/all.yaml:7:76 out-of-range cameras.heron-26.pixelPitchUm",
    ]);
    expect(content.trains).toEqual([]);
  });

  it("tells an id given twice in two files, a wrong kind, a hostile id and a part that is no mapping", async () => {
    const { places } = await readFiles({
      "parts/a.yaml": "filters: { ha: { name: a } }\n",
      "parts/b.yaml": 'filters: { HA: { name: b }, "../x": { name: c }, z: 3 }\nfilter: {}\ncameras: none\n',
      [trainFile]: soundTrain,
    });
    expect(places).toEqual([
      "parts/b.yaml:1:12 duplicate-id filters.HA",
      "parts/b.yaml:1:29 unsafe-name filters.../x",
      "parts/b.yaml:1:53 wrong-value filters.z",
      "parts/b.yaml:2:1 unknown-key filter",
      "parts/b.yaml:3:10 wrong-value cameras",
    ]);
  });

  it("puts a train's tolerances before the site's, and the site's before those built in", async () => {
    const { content } = await readFiles({
      "site.yaml": "title: T\ntolerances: { cornerEllipticity: 0.3, tiltAcrossUm: 25 }\n",
      [trainFile]: `${soundTrain}tolerances: { tiltAcrossUm: 15 }\n`,
    });
    expect(content.site.tolerances).toMatchObject({
      cornerEllipticity: 0.3,
      tiltAcrossUm: 25,
      cornerLightPercent: 60,
    });
    expect(content.trains[0].record.tolerances).toEqual({
      cornerFwhmOverCentre: 1.25,
      cornerEllipticity: 0.3,
      cornerLightPercent: 60,
      tiltAcrossUm: 15,
      spacingErrorMm: 0.2,
    });
  });

  it("tells the faults of every file at once, sorted by file and line, and keeps the sound records", async () => {
    const { places, content } = await readFiles({
      "site.yaml": "titel: x\nbaseUrl: javascript:alert(1)\nlanguage: en_GB\n",
      "trains/b/train.yaml": "name: b\n",
      "trains/b/tests/2026-10-03/test.yaml": "date: 2026-10-03\nflat: [a.fits]\n",
      [trainFile]: soundTrain,
      [testFile]: soundTest,
      "comparisons/one.yaml": "name: x\na: { train: tarm }\nb: { train: tarn, test: 2026-10-04 }\n",
      "comparisons/two.yaml": "name: x\na: { train: tarn }\nb: { train: tarn }\n",
      "comparisons/three.yaml": "name: x\na: { train: tarn }\nb: { train: b }\n",
      "comparisons/four.yaml": "name: x\na: { train: tarn }\nb: { train: tarn, test: 2026-10-03 }\n",
    });
    expect(places).toEqual([
      "comparisons/one.yaml:2:13 unknown-train a.train",
      "comparisons/one.yaml:3:25 unknown-test b.test",
      "comparisons/two.yaml:3:4 contradiction b",
      "site.yaml:1:1 unknown-key titel",
      "site.yaml:2:10 wrong-value baseUrl",
      "site.yaml:3:11 wrong-value language",
      "trains/b/tests/2026-10-03/test.yaml:2:1 unknown-key flat",
      "trains/b/train.yaml:1:1 missing-key camera",
      "trains/b/train.yaml:1:1 missing-key telescope",
    ]);
    expect(content.trains.map(({ id }) => id)).toEqual(["tarn"]);
    expect(content.trains[0].tests.map(({ id }) => id)).toEqual(["2026-10-03"]);
    expect(content.comparisons.map(({ id }) => id)).toEqual(["four"]);
  });

  it("names files as the user typed the folder, with forward slashes", async () => {
    const dir = await makeContent({ [trainFile]: "name: 1\n" });
    const typed = join(dir, "..", dir.split("/").at(-1) ?? "");
    const { faults, content } = await readContent(typed);
    expect(faults[0].file).toBe(`${typed}/${trainFile}`.replaceAll("\\", "/"));
    expect(content.dir).toBe(dir);
  });

  it("tells folders whose names differ by letter case, would leave the folder or could be no address", async () => {
    const { places } = await readFiles({
      "trains/Tarn/train.yaml": soundTrain,
      "trains/tarn/train.yaml": soundTrain,
      "trains/a b/train.yaml": soundTrain,
      "trains/<b>'x\"/train.yaml": soundTrain,
      [`trains/${"x".repeat(200)}/train.yaml`]: soundTrain,
      "trains/a\u001bb/train.yaml": soundTrain,
      "trains/_draft/train.yaml": "broken: [",
      "trains/.hidden/train.yaml": "broken: [",
      "trains/notes.txt": "no record",
    });
    expect(places.map((text) => text.split(" ").at(-2))).toEqual([
      "unsafe-name",
      "unsafe-name",
      "unsafe-name",
      "duplicate-id",
      "unsafe-name",
    ]);
  });

  it("tells two trains of one name, a folder without its record, and a record that ends in .yml", async () => {
    const { places, faults } = await readFiles({
      "trains/a/train.yaml": soundTrain,
      "trains/b/train.yaml": soundTrain.toUpperCase().replace(/^(.*)$/s, () => soundTrain),
      "trains/c/review.md": "prose",
      "trains/a/tests/2026-10-03/frames/a.fits": "",
      "comparisons/x.yml": "name: x\n",
    });
    expect(places).toEqual([
      "comparisons/x.yml:-:- unsafe-name -",
      "trains/a/tests/2026-10-03/test.yaml:-:- missing-record -",
      "trains/b/train.yaml:1:7 duplicate-name name",
      "trains/c/train.yaml:-:- missing-record -",
    ]);
    expect(faults[3].fix).toContain("npm run new -- train c");
  });

  it("says how to begin where there is no folder or no train", async () => {
    const nowhere = await readContent("/nowhere/at/all");
    expect(nowhere.faults.map(({ code }) => code)).toEqual(["records/no-content"]);
    const { faults, content } = await readFiles({ "site.yaml": "# nothing yet\n" });
    expect(faults.map(({ code }) => code)).toEqual(["records/no-content"]);
    expect(faults[0].fix).toContain("npm run new -- train NAME");
    expect(content.site.title).toBe("Optical train reports");
  });

  it("keeps a record's text word for word with the SHA-256 of its bytes, and the review", async () => {
    const { content } = await readFiles({ [trainFile]: soundTrain, "trains/tarn/review.md": "abc" });
    const { source, review } = content.trains[0];
    expect(source).toMatchObject({ file: trainFile, text: soundTrain });
    // SHA-256 of "abc": FIPS 180-4, example.
    expect(review).toEqual({
      file: "trains/tarn/review.md",
      text: "abc",
      sha256: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
      record: { draft: false, summary: "" },
      markdown: "abc",
    });
  });

  it("reads the starter content that ships with the project without a fault", async () => {
    const { content, faults } = await readContent(join(import.meta.dirname, "../../content"));
    expect(faults).toEqual([]);
    expect(content.trains.map(({ id }) => id)).toContain("starter-train");
  });
});
