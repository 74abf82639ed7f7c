import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openComputedStore } from "../../lib/commands/computed-store.ts";

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), "rig-report-store-"));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

describe("openComputedStore", () => {
  it("finds again what it keeps, typed arrays and NaN included, in another run of the same code", () => {
    openComputedStore(dir, { "field/fit-field": "code 1" }).keep(
      "field/fit-field",
      "key",
      {
        draws: Float64Array.of(1.5, Number.NaN),
        why: null,
      },
      "long",
    );
    expect(
      openComputedStore(dir, { "field/fit-field": "code 1" }).find("field/fit-field", "key", "long"),
    ).toEqual({
      draws: Float64Array.of(1.5, Number.NaN),
      why: null,
    });
  });

  it("forgets what a module computed when its code is another, and not what other modules computed", () => {
    const before = openComputedStore(dir, { "field/fit-field": "code 1", "compare/read-side": "code 1" });
    before.keep("field/fit-field", "key", "fit", "long");
    before.keep("compare/read-side#zones", "key", "zones", "long");
    const after = openComputedStore(dir, { "field/fit-field": "code 1", "compare/read-side": "code 2" });
    expect(after.find("field/fit-field", "key", "long")).toBe("fit");
    expect(after.find("compare/read-side#zones", "key", "long")).toBeUndefined();
  });

  it("takes a file that was cut short as absent", () => {
    const store = openComputedStore(dir, { "field/fit-field": "code 1" });
    store.keep("field/fit-field", "key", [1, 2, 3], "long");
    const [file] = readdirSync(dir);
    writeFileSync(join(dir, file), "");
    expect(store.find("field/fit-field", "key", "long")).toBeUndefined();
  });

  it("refuses a computation whose module it cannot tell the code of", () => {
    const store = openComputedStore(dir, { "field/fit-field": "code 1" });
    expect(() => store.find("toString/x", "key", "long")).toThrow(/names no module/);
    expect(() => store.keep("fitField", "key", 1, "long")).toThrow(/names no module/);
  });
});
