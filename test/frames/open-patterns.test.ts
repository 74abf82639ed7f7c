import { mkdirSync, mkdtempSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import { expandFrames } from "../../lib/frames/open.ts";

const folder = realpathSync(mkdtempSync(join(tmpdir(), "frames-patterns-")));
mkdirSync(join(folder, "tests/night"), { recursive: true });
for (const name of [
  "b.fits",
  "a.fits",
  "field-10.fits",
  "field-2.fits",
  "c.tif",
  "tests/night/x.fits",
  "odd [1] (2).fits",
  "ä.fits",
]) {
  writeFileSync(join(folder, name), "");
}
afterAll(() => rmSync(folder, { recursive: true }));

const expand = (patterns: string[], base = folder) =>
  expandFrames(patterns, base).then((paths) => paths.map((path) => path.replace(`${folder}/`, "")));

describe("expandFrames", () => {
  it("yields absolute paths, sorted within a pattern, patterns in the record's order", async () => {
    expect(await expandFrames(["a.fits"], folder)).toEqual([join(folder, "a.fits")]);
    expect(await expand(["c.tif", "?.fits"])).toEqual(["c.tif", "a.fits", "b.fits", "ä.fits"]);
    expect(await expand(["field-*.fits"])).toEqual(["field-10.fits", "field-2.fits"]);
  });

  it("names each file once, and does not go into folders without **", async () => {
    expect(await expand(["a.fits", "a.fits", "[a]*.fits"])).toEqual(["a.fits"]);
    expect(await expand(["**/x.fits"])).toEqual(["tests/night/x.fits"]);
    expect(await expand(["../../a.fits"], join(folder, "tests/night"))).toEqual(["a.fits"]);
    expect(await expand([join(folder, "{a,b}.fits")])).toEqual(["a.fits", "b.fits"]);
  });

  it("takes a name with brackets as it stands", async () => {
    expect(await expand(["odd [1] (2).fits"])).toEqual(["odd [1] (2).fits"]);
  });

  it("gives one fault for each pattern without a match, naming pattern and folder", async () => {
    const error = await expandFrames(["none-*.fits", "a.fits", "gone.fits", "tests"], folder).catch(
      (reason) => reason,
    );
    expect(error).toBeInstanceOf(ReportError);
    const { faults } = error as ReportError;
    expect(faults.map(({ code }) => code)).toEqual(Array(3).fill("frames/no-match"));
    expect(faults[0].found).toContain("none-*.fits");
    expect(faults[0].file).toBe(folder);
  });
});
