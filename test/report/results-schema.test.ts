import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { Ajv } from "ajv";
import { describe, expect, it } from "vitest";
import { comparisonSchema, indexSchema, resultsSchema } from "../../lib/report/results-schema.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const ajv = new Ajv({ allErrors: true, strict: true, strictTypes: false, strictRequired: false });
const check = ajv.compile<unknown>(resultsSchema);
const tell = () =>
  (check.errors ?? []).slice(0, 5).map(({ instancePath, message }) => `${instancePath}: ${message}`);

/** A results object with one value put in place of what stands at a path. */
function spoil(path: string, value: unknown): unknown {
  const results = JSON.parse(JSON.stringify(makeSampleResults()[0]));
  const keys = path.split(".");
  const last = keys.pop() ?? "";
  const holder = keys.reduce((inner, key) => inner[key], results);
  if (value === undefined) delete holder[last];
  else holder[last] = value;
  return results;
}

describe("resultsSchema", () => {
  it("holds for results of trains with every kind of test", () => {
    for (const results of makeSampleResults()) {
      check(JSON.parse(JSON.stringify(results)));
      expect(tell()).toEqual([]);
    }
  });

  it("holds for every results.json of the demo's site, where one was built", () => {
    const trains = resolve(import.meta.dirname, "../../_site/trains");
    for (const id of existsSync(trains) ? readdirSync(trains) : []) {
      check(JSON.parse(readFileSync(join(trains, id, "results.json"), "utf8")));
      expect(tell()).toEqual([]);
    }
  });

  it.each([
    ["format", "rig-report-results/2"],
    ["sampling.imageScale.unit", "arcsec"],
    ["sampling.imageScale.lo", undefined],
    ["sampling.focalLength", 800],
    ["tests.0.zones.centre.fwhm.um.value", null],
    ["tests.0.zones.corner", undefined],
    ["tests.0.date", "3 October"],
    ["tests.0.frames.0.sha256", "abc"],
    ["findings.0.level", "good"],
    ["ledger", undefined],
  ])("refuses results whose %s is %s", (path, value) => {
    expect(check(spoil(path, value))).toBe(false);
  });
});

describe("the other schemas", () => {
  it("compile, and indexSchema holds for a list of trains alone", () => {
    expect(() => ajv.compile(comparisonSchema)).not.toThrow();
    const index = {
      trains: [{ id: "a", name: "A", page: "trains/a/index.html", results: "r" }],
      comparisons: [],
    };
    expect(ajv.validate(indexSchema, index)).toBe(true);
    expect(ajv.validate(indexSchema, { trains: [{ id: "a" }], comparisons: [] })).toBe(false);
  });
});
