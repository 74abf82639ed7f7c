import { Script } from "node:vm";
import { gzipSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { bundleReportScript } from "../../templates/script/bundle.ts";

describe("bundleReportScript()", () => {
  it("yields classic scripts that parse and import nothing: at most 5,000 bytes gzipped for a page's own, 60,000 for that of live charts", async () => {
    const { js, chartJs } = await bundleReportScript();
    for (const script of [js, chartJs]) {
      expect(() => new Script(script)).not.toThrow();
      expect(script).not.toMatch(/\bimport\s*\(|\brequire\(/);
    }
    expect(gzipSync(js, { level: 9 }).length).toBeLessThanOrEqual(5000);
    expect(gzipSync(chartJs, { level: 9 }).length).toBeLessThanOrEqual(60_000);
  });

  it("keeps the licence notices of what it carries and no text that ends a script element", async () => {
    const { js, chartJs } = await bundleReportScript();
    expect(chartJs).toContain("Chart.js");
    expect(chartJs).toContain("MIT License");
    expect(`${js}${chartJs}`.toLowerCase()).not.toContain("</script");
  });
});
