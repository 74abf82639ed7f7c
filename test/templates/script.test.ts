import { Script } from "node:vm";
import { gzipSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { bundleReportScript } from "../../templates/script/bundle.ts";

describe("bundleReportScript()", () => {
  it("yields one classic script that parses, imports nothing and takes at most 60,000 bytes gzipped", async () => {
    const { js } = await bundleReportScript();
    expect(() => new Script(js)).not.toThrow();
    expect(js).not.toMatch(/\bimport\s*\(|\brequire\(/);
    expect(gzipSync(js, { level: 9 }).length).toBeLessThanOrEqual(60_000);
  });

  it("keeps the licence notices of what it carries and no text that ends a script element", async () => {
    const { js } = await bundleReportScript();
    expect(js).toContain("Chart.js");
    expect(js).toContain("MIT License");
    expect(js.toLowerCase()).not.toContain("</script");
  });

  it("yields the same bytes twice", async () => {
    expect((await bundleReportScript()).js).toBe((await bundleReportScript()).js);
  });
});
