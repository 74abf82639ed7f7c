import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { drawGuidingLog, drawWindLog } from "../../demo/draw-logs.ts";
import { logs } from "../../demo/logs.ts";
import { measureGuiding } from "../../lib/night/guiding.ts";
import { readGuidingLog } from "../../lib/night/read-log.ts";

const trains = join(import.meta.dirname, "../../demo/content/trains");

describe("the demo's logs", () => {
  it("are those that their nights' simulator draws", () => {
    for (const { test, plan } of logs) {
      expect(readFileSync(join(trains, test, "guiding.csv"), "utf8")).toBe(drawGuidingLog(plan));
      expect(readFileSync(join(trains, test, "wind.csv"), "utf8")).toBe(drawWindLog(plan));
    }
  });

  it("give back the wander that the frames were drawn with, within their intervals, dithers left out", () => {
    for (const { plan } of logs.filter(({ plan: { growth } }) => growth === 0)) {
      const { rms, excursions } = measureGuiding(readGuidingLog(drawGuidingLog(plan), "guiding.csv"), 60);
      for (const [axis, truth] of [
        [rms.ra, plan.raArcsec],
        [rms.dec, plan.decArcsec],
      ] as const) {
        expect(axis.value).not.toBeNull();
        if (axis.value === null) continue;
        expect(axis.lo).toBeLessThan(truth);
        expect(axis.hi).toBeGreaterThan(truth);
      }
      expect(excursions.value).toBeGreaterThan(0);
    }
  });
});
