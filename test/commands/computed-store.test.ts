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
    openComputedStore(dir, { field: "code 1" }).keep("field/fitField", "key", {
      draws: Float64Array.of(1.5, Number.NaN),
      why: null,
    });
    expect(openComputedStore(dir, { field: "code 1" }).find("field/fitField", "key")).toEqual({
      draws: Float64Array.of(1.5, Number.NaN),
      why: null,
    });
  });

  it("forgets what a room computed when its own code is another, and not what other rooms computed", () => {
    const before = openComputedStore(dir, { field: "code 1", compare: "code 1" });
    before.keep("field/fitField", "key", "fit");
    before.keep("compare/drawZones", "key", "zones");
    const after = openComputedStore(dir, { field: "code 1", compare: "code 2" });
    expect(after.find("field/fitField", "key")).toBe("fit");
    expect(after.find("compare/drawZones", "key")).toBeUndefined();
  });

  it("takes a file that was cut short as absent", () => {
    const store = openComputedStore(dir, { field: "code 1" });
    store.keep("field/fitField", "key", [1, 2, 3]);
    const [file] = readdirSync(dir);
    writeFileSync(join(dir, file), "");
    expect(store.find("field/fitField", "key")).toBeUndefined();
  });

  it("refuses a computation whose room it cannot tell the code of", () => {
    const store = openComputedStore(dir, { field: "code 1" });
    expect(() => store.find("toString/x", "key")).toThrow(/names no room/);
    expect(() => store.keep("fitField", "key", 1)).toThrow(/names no room/);
  });
});
