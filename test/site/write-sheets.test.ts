import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, describe, expect, it } from "vitest";
import type { TrainResults } from "../../lib/report/results.ts";
import { encodeGreyPng } from "../../lib/site/grey-png.ts";
import { readGreyPng } from "../../lib/site/read-grey-png.ts";
import { hasPicture, planSheets, writeSheets } from "../../lib/site/write-sheets.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const dir = mkdtempSync(join(tmpdir(), "sheets-"));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** A star of 100 x `index` + 900 at its middle on a sky of 500. */
function makeStar(side: number, index: number): Uint16Array {
  const samples = new Uint16Array(side * side).fill(500);
  samples[(side * side - 1) / 2] = 900 + 100 * index;
  return samples;
}

/** The first sample test with these cut-outs of its own; results are as measuring leaves them. */
function makeResults(crops: { file: string; sidePx: number }[]): TrainResults {
  const [results] = makeSampleResults();
  const [test] = results.tests;
  const [mould] = test.spokes?.crops ?? [];
  test.spokes = { crops: crops.map((crop) => ({ ...mould, ...crop })) };
  results.tests = [test];
  return results;
}

describe("writeSheets", () => {
  const sides = [5, 7, 5];
  const testDir = join(dir, "test");
  mkdirSync(join(testDir, "crops"), { recursive: true });
  sides.forEach((side, k) => {
    writeFileSync(join(testDir, `crops/${k}.png`), encodeGreyPng(makeStar(side, k), side, side));
  });
  const crops = sides.map((sidePx, k) => ({ file: `crops/${k}.png`, sidePx }));
  const write = async (results: TrainResults, into: string) =>
    writeSheets(planSheets(results, { [results.tests[0].id]: testDir }), join(dir, into));

  it("holds every sample as measured: cut-outs of 5, 7 and 5 px in cells of 7 px", async () => {
    const [written] = await write(makeResults(crops), "whole");
    const sheet = readGreyPng(readFileSync(join(dir, "whole", written.measured)));
    expect([sheet?.width, sheet?.height]).toEqual([7, 21]);
    sides.forEach((side, k) => {
      const rows = Array.from({ length: side }, (_, y) =>
        [...(sheet?.samples ?? [])].slice((7 * k + y) * 7, (7 * k + y) * 7 + side),
      );
      expect(rows.flat()).toEqual([...makeStar(side, k)]);
    });
    expect(written.sheet).toEqual({ href: written.seen, cellPx: 7, cells: 3, missing: new Set() });
  });

  it("has paper for the eye outside of the cut-outs and ink at each star's middle", async () => {
    const [written] = await write(makeResults(crops), "seen");
    const seen = readGreyPng(readFileSync(join(dir, "seen", written.seen)));
    const at = (x: number, y: number) => seen?.samples[y * 7 + x];
    expect([at(2, 2), at(3, 10), at(2, 16)]).toEqual([0, 0, 0]);
    expect([at(6, 6), at(0, 0), at(6, 20)]).toEqual([255, 255, 255]);
  });

  it("names what is missing, of another size, no picture or outside of the test's folder, and keeps the rest in place", async () => {
    writeFileSync(join(testDir, "crops/text.png"), "no picture");
    const files = [
      "crops/0.png",
      "crops/none.png",
      "crops/text.png",
      "../../outside.png",
      "crops/1.png",
      "crops/2.png",
    ];
    const [written] = await write(makeResults(files.map((file) => ({ file, sidePx: 5 }))), "partly");
    expect(written.sheet.missing).toEqual(new Set([1, 2, 3, 4]));
    const sheet = readGreyPng(readFileSync(join(dir, "partly", written.measured)));
    expect(sheet?.samples[5 * 27 + 2]).toBe(1100);
  });

  it("writes no file where not one cut-out can be read", async () => {
    const [written] = await write(makeResults([{ file: "crops/none.png", sidePx: 5 }]), "none");
    expect(hasPicture(written)).toBe(false);
    expect(() => readFileSync(join(dir, "none", written.seen))).toThrow();
  });

  it("reads a colour picture of the right size by its first channel, through the general reader", async () => {
    const colour = await sharp({ create: { width: 5, height: 5, channels: 3, background: "#404040" } }).png();
    writeFileSync(join(testDir, "crops/colour.png"), await colour.toBuffer());
    const [written] = await write(makeResults([{ file: "crops/colour.png", sidePx: 5 }]), "colour");
    const sheet = readGreyPng(readFileSync(join(dir, "colour", written.measured)));
    expect(new Set(sheet?.samples)).toEqual(new Set([64]));
  });
});
