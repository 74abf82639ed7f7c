import { describe, expect, it } from "vitest";
import { findEvidence } from "../../lib/site/find-evidence.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const [reduced, native] = makeSampleResults();

describe("findEvidence", () => {
  it("leads two values of one zone table to that table, once", () => {
    expect(findEvidence(reduced, ["tests.0.zones.corner.fwhm.um", "tests[0].zones.centre.fwhm.um"])).toEqual([
      { href: "#tbl-zones-2026-10-03", text: "zone table, 3 October 2026" },
    ]);
  });

  it("leads to the test where the test shows no such table", () => {
    expect(findEvidence(native, ["tests.1.zones.corner"])[0].href).toBe("#test-2026-10-05");
  });

  it("leads to the results file where the page has no place for it", () => {
    for (const path of ["backFocus.spacingError", "ledger.best", "tests.9.zones", "__proto__.x", ""]) {
      expect(findEvidence(native, [path])).toEqual([{ href: "results.json", text: "results file" }]);
    }
  });
});
