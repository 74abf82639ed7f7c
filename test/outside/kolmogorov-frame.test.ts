import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { openFrame } from "../../lib/frames/open.ts";
import { estimateMadSigma, median } from "../../lib/maths/statistics.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import { listUsableStars } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";

const folder = resolve(import.meta.dirname, "../references/kolmogorov-frame");

function readTruth(name: string) {
  const [, ...lines] = readFileSync(resolve(folder, `${name}.csv`), "utf8")
    .trim()
    .split("\n");
  return lines.map((line) => {
    const [x, y, flux, fwhmX, fwhmY] = line.split(",").map(Number);
    return { x, y, flux, fwhmX, fwhmY };
  });
}

/** Measures a stored frame and pairs its usable stars with the truth's. */
async function measureStored(name: string) {
  const frame = await openFrame(resolve(folder, `${name}.fits.fz`), { cfa: "none" });
  const [plane] = frame.planes;
  const { stars } = await measurePlane(
    { ...plane, widthPx: frame.widthPx, heightPx: frame.heightPx },
    plane.channel,
    { gainElectronsPerAdu: 1, readNoiseElectrons: 3, saturationAdu: null },
    runInline,
  );
  const truth = readTruth(name);
  const pairs = listUsableStars(stars).flatMap((row) => {
    const star = truth.find(({ x, y }) => Math.hypot(stars.xPx[row] - x, stars.yPx[row] - y) < 1);
    return star === undefined ? [] : [{ row, star }];
  });
  return { stars, truth, pairs };
}

const rms = (values: number[]) =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe("measurePlane on frames drawn by numpy and scipy (test/references/kolmogorov-frame)", () => {
  it("gives the half-maximum width of Kolmogorov seeing through f/5.53 within 1.5 %, scatter below 1 %, places within 0.008 px", async () => {
    const { stars, truth, pairs } = await measureStored("in-focus");
    expect(pairs.length).toBeGreaterThanOrEqual(truth.length - 2);
    const widths = pairs.map(({ row, star }) =>
      Math.sqrt((stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) / (star.fwhmX * star.fwhmY)),
    );
    expect(Math.abs(median(widths) - 1)).toBeLessThan(0.015);
    expect(estimateMadSigma(widths)).toBeLessThan(0.01);
    const bright = pairs.filter(({ star }) => star.flux > 4e4);
    expect(
      rms(bright.flatMap(({ row, star }) => [stars.xPx[row] - star.x, stars.yPx[row] - star.y])),
    ).toBeLessThan(0.008);
    const pulls = pairs.map(({ row, star }) => (stars.xPx[row] - star.x) / stars.xErrPx[row]);
    // 80 stars know a scatter to 8 %: 0.8 to 1.2 is two and a half of that.
    expect(rms(pulls)).toBeGreaterThan(0.8);
    expect(rms(pulls)).toBeLessThan(1.2);
  });

  it("gives 40 um of defocus with 30 um of astigmatism its long and short width within 2 %", async () => {
    const { stars, truth, pairs } = await measureStored("astigmatic");
    expect(pairs.length).toBeGreaterThanOrEqual(truth.length - 2);
    const [long, short] = [
      Math.max(truth[0].fwhmX, truth[0].fwhmY),
      Math.min(truth[0].fwhmX, truth[0].fwhmY),
    ];
    expect(Math.abs(median(pairs.map(({ row }) => stars.fwhmMajorPx[row])) / long - 1)).toBeLessThan(0.02);
    expect(Math.abs(median(pairs.map(({ row }) => stars.fwhmMinorPx[row])) / short - 1)).toBeLessThan(0.02);
    const upright = truth[0].fwhmY > truth[0].fwhmX ? 90 : 0;
    for (const { row } of pairs) {
      expect(Math.abs(((stars.angleDeg[row] - upright + 270) % 180) - 90)).toBeLessThan(12);
    }
  });
});
