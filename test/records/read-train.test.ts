import { describe, expect, it } from "vitest";
import { countPlace, readFiles, readTrain, soundTrain, trainFile } from "./content-folder.ts";

describe("a train's record", () => {
  it("reads without a fault, with defaults filled in and nothing undefined", async () => {
    const { content, faults } = await readFiles({ [trainFile]: soundTrain });
    expect(faults).toEqual([]);
    const { record } = content.trains[0];
    expect(record.telescope.obstructionMm).toBe(0);
    expect(record.corrector?.radialMeans).toBe("unknown");
    expect(record.camera.windowGlass).toEqual({ thicknessMm: 0, index: 1.517 });
    expect(record.stack[2]).toEqual({
      part: "filter drawer",
      lengthMm: 20,
      clearDiameterMm: 45,
      glass: { thicknessMm: 2, index: 1.517 },
    });
    expect(record.spacersOwnedMm).toEqual([]);
    expect(record.adjuster).toBeNull();
    expect(record.tolerances).toEqual({
      cornerFwhmOverCentre: 1.25,
      cornerEllipticity: 0.2,
      cornerLightPercent: 60,
      tiltAcrossUm: 40,
      spacingErrorMm: 0.2,
    });
    expect(
      JSON.stringify(record, (_key, value) => (value === undefined ? "undefined" : value)),
    ).not.toContain("undefined");
  });

  it.each([
    // what is replaced, by what, the text that the fault points at, kind and key of the fault, part of its fix
    ["pixelPitchUm: 3.76", "pixelPitchUm: 3760", "3760", "out-of-range camera.pixelPitchUm", "write 3.76"],
    ["pixelPitchUm: 3.76", "pixelPitchUm: 3.76um", "3.76um", "wrong-value camera.pixelPitchUm", "write 3.76"],
    ["pixelPitchUm: 3.76", 'pixelPitchUm: "3,76"', '"3,76"', "wrong-value camera.pixelPitchUm", "write 3.76"],
    ["pixelPitchUm: 3.76", "pixelPitchUm: .nan", ".nan", "out-of-range camera.pixelPitchUm", "anew, in um"],
    ["pixelPitchUm: 3.76", "pixelPitchUm: .inf", ".inf", "out-of-range camera.pixelPitchUm", "anew, in um"],
    ["pixelPitchUm: 3.76", "pixelPitchUm: [3.76]", "[3.76]", "wrong-value camera.pixelPitchUm", "3.76"],
    ["pixelPitchUm: 3.76", "pixelPitchUm: -3.76", "-3.76", "out-of-range camera.pixelPitchUm", "anew"],
    [
      "pixelPitchUm: 3.76",
      "pixelPitch: 3.76",
      "pixelPitch:",
      "unknown-key camera.pixelPitch",
      "write pixelPitchUm",
    ],
    ["widthPx: 6248", "widthPx: 6248.5", "6248.5", "out-of-range camera.widthPx", "whole number"],
    [", flangeMm: 17.5 }", " }", "camera:", "missing-key camera.flangeMm", "flangeMm: 17.5"],
    [
      ", flangeMm: 17.5 }",
      " }\nflangeMm: 17.5",
      "flangeMm: 17.5",
      "unknown-key flangeMm",
      "belongs under camera",
    ],
    [
      "  backFocusMm: 55",
      "  backFocusMm:",
      "backFocusMm:",
      "missing-key corrector.backFocusMm",
      "backFocusMm: 55",
    ],
    ["kind: reducer", "kind: Reduser", "Reduser", "wrong-value corrector.kind", "write reducer"],
    ["  factor: 0.79\n", "", "corrector:", "missing-key corrector.factor", "factor: 0.79"],
    ["factor: 0.79", "factor: 1.27", "1.27", "contradiction corrector.factor", "write 0.787"],
    ["factor: 0.79", "factor: 1.0", "1.0\n", "contradiction corrector.factor", "kind: flattener"],
    ["kind: reducer", "kind: extender", "0.79", "contradiction corrector.factor", "kind: reducer"],
    ["kind: reducer", "kind: flattener", "0.79", "contradiction corrector.factor", "kind: reducer"],
    ["focalLengthMm: 805", "focalLengthMm: 80.5", "80.5", "contradiction telescope.focalLengthMm", "in mm"],
    ["805 }", "805, obstructionMm: 120 }", "120 }", "contradiction telescope.obstructionMm", "0 for"],
    ["name: Tarnlight 115 with reducer", "name: 115", "115", "wrong-value name", '"115"'],
    ["name: Tarnlight 115 with reducer", 'name: "  "', '"  "', "wrong-value name", "some text"],
    ["name: Tarnlight 115 with reducer", `name: ${"x".repeat(300)}`, "xxx", "wrong-value name", "shorten"],
    [
      "name: Tarnlight 115 with reducer",
      'name: "a\\u001b[2J"',
      '"a',
      "wrong-value name",
      "control characters",
    ],
    ["spacersMm: [1.0]", "spacersMm: 1.0", "1.0, clear", "wrong-value stack[1].spacersMm", "[1]"],
    [
      "spacersMm: [1.0]",
      "spacersMm: [0,3]",
      "0,3",
      "out-of-range stack[1].spacersMm[0]",
      "decimals take a point",
    ],
    ["lengthMm: 16.5", "lenghtMm: 16.5", "lenghtMm", "unknown-key stack[0].lenghtMm", "write lengthMm"],
    [
      "clearDiameterMm: 45",
      "clearDiameterMm: 7",
      "7, glass",
      "contradiction stack[2].clearDiameterMm",
      "not the radius",
    ],
    [
      "part: M54 ring, lengthMm: 16.5",
      "spacersMm: []",
      "{ spacersMm: [1",
      "contradiction stack[1]",
      "one list",
    ],
    [
      "thicknessMm: 2.0",
      "thicknessMm: 2.0, index: 0.34",
      "0.34",
      "out-of-range stack[2].glass.index",
      "anew",
    ],
  ])("with %j made %j is told at %j: %s", async (from, to, pointedAt, expected, fix) => {
    const { faults, places, content } = await readTrain(from, to);
    const place = `${trainFile}:${countPlace(soundTrain.replace(from, to), pointedAt)} ${expected}`;
    expect(places).toContain(place);
    expect(faults[places.indexOf(place)].fix).toContain(fix);
    expect(content.trains).toEqual([]);
    for (const { found, allowed, fix: edit } of faults) {
      expect(Math.max(found.length, allowed.length, edit.length)).toBeLessThanOrEqual(200);
    }
  });

  it.each([
    ["two screws", "[{ angleDeg: 0, radiusMm: 35 }, { angleDeg: 180, radiusMm: 35 }]", "adjuster.screws"],
    [
      "a screw entered twice, 360 degrees apart",
      "[{ angleDeg: 0, radiusMm: 35 }, { angleDeg: 120, radiusMm: 35 }, { angleDeg: 360, radiusMm: 35 }]",
      "adjuster.screws[2].angleDeg",
    ],
  ])("with an adjuster of %s is told", async (_name, screws, key) => {
    const text = `${soundTrain}adjuster: { screws: ${screws}, pitchMm: 0.5 }\n`;
    const { faults } = await readFiles({ [trainFile]: text });
    expect(faults.map((fault) => fault.key)).toEqual([key]);
  });

  const places = [90, 210, 330].map((angleDeg) => `{ angleDeg: ${angleDeg}, radiusMm: 29 }`);

  it("takes places for shims in place of screws, with thicknesses or any", async () => {
    const text = `${soundTrain}adjuster: { shims: [${places.join(", ")}], thicknessesMm: [0.02, 0.1] }\n`;
    const { content, faults } = await readFiles({ [trainFile]: text });
    expect(faults).toEqual([]);
    expect(content.trains[0].record.adjuster).toMatchObject({ thicknessesMm: [0.02, 0.1] });
    const bare = `${soundTrain}adjuster: { shims: [${places.join(", ")}] }\n`;
    expect((await readFiles({ [trainFile]: bare })).content.trains[0].record.adjuster).toMatchObject({
      thicknessesMm: [],
    });
  });

  it.each([
    ["two places", `shims: [${places.slice(0, 2).join(", ")}]`, "adjuster.shims"],
    [
      "places on one side only",
      "shims: [{ angleDeg: 0, radiusMm: 29 }, { angleDeg: 40, radiusMm: 29 }, { angleDeg: 80, radiusMm: 29 }]",
      "adjuster.shims",
    ],
    [
      "a place twice",
      `shims: [${places.join(", ")}, { angleDeg: 92, radiusMm: 29 }]`,
      "adjuster.shims[3].angleDeg",
    ],
    ["a shim of 5 mm", `shims: [${places.join(", ")}], thicknessesMm: [5]`, "adjuster.thicknessesMm[0]"],
    ["shims and a pitch", `shims: [${places.join(", ")}], pitchMm: 0.5`, "adjuster.pitchMm"],
  ])("with %s for shims is told", async (_name, adjuster, key) => {
    const { faults } = await readFiles({ [trainFile]: `${soundTrain}adjuster: { ${adjuster} }\n` });
    expect(faults.map((fault) => fault.key)).toEqual([key]);
  });

  it("with a bias above saturation is told", async () => {
    const { places } = await readTrain("flangeMm: 17.5", "flangeMm: 17.5, biasAdu: 500, saturationAdu: 400");
    expect(places).toEqual([
      `${trainFile}:${countPlace(soundTrain.replace("17.5 }", "17.5, biasAdu: 500, saturationAdu: 400 }"), "400")} contradiction camera.saturationAdu`,
    ]);
  });

  it("has all its faults told at once, in the order of the lines", async () => {
    const text = soundTrain
      .replace("apertureMm: 115", "apertureMm: 11500")
      .replace("kind: reducer", "kind: shrinker")
      .replace("lengthMm: 16.5", "lengthMm: long")
      .replace("widthPx: 6248", "widthpx: 6248")
      .concat("colour: red\n");
    const { places } = await readFiles({ [trainFile]: text });
    expect(places.map((text) => text.slice(trainFile.length + 1))).toEqual([
      "2:47 out-of-range telescope.apertureMm",
      "5:9 wrong-value corrector.kind",
      "9:33 wrong-value stack[0].lengthMm",
      "12:1 missing-key camera.widthPx",
      "12:27 unknown-key camera.widthpx",
      "13:1 unknown-key colour",
    ]);
  });

  it("that is a word, a list or empty is told in one fault", async () => {
    for (const text of ["hello\n", "- a\n", "", "# nothing yet\n"]) {
      const { faults } = await readFiles({ [trainFile]: text });
      expect(faults).toHaveLength(1);
      expect(faults[0].allowed).toContain("mapping");
    }
  });

  it("in UTF-16, with a zero byte, or of 600 kB is refused before it is parsed", async () => {
    const utf16 = Buffer.from("\ufeffname: x", "utf16le");
    expect((await readFiles({ [trainFile]: utf16 })).faults.map(({ code }) => code)).toEqual([
      "records/not-utf8",
    ]);
    expect((await readFiles({ [trainFile]: "a: \u0000" })).faults.map(({ code }) => code)).toEqual([
      "records/not-utf8",
    ]);
    const large = await readFiles({ [trainFile]: `# ${"x".repeat(600_000)}` });
    expect(large.faults.map(({ code }) => code)).toEqual(["records/too-large"]);
  });

  it("saved with a byte-order mark and Windows line ends reads the same", async () => {
    const { faults, content } = await readFiles({
      [trainFile]: `\ufeff${soundTrain.replaceAll("\n", "\r\n")}`,
    });
    expect(faults).toEqual([]);
    expect(content.trains[0].record.name).toBe("Tarnlight 115 with reducer");
  });
});
