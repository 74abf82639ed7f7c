import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Comparison } from "../../lib/report/results.ts";
import { buildSite } from "../../lib/site/build-site.ts";
import {
  listSiteFiles,
  makeComparedSite,
  makeSampleFolder,
  readPage,
  removeSampleFolders,
  sampleSite,
} from "./sample-site.ts";

let outDir: string;
const folder = "comparisons/native-against-reduced";

beforeAll(async () => {
  const dir = makeSampleFolder();
  outDir = join(dir, "site");
  await buildSite({ ...(await makeComparedSite(dir)), site: sampleSite, outDir });
});
afterAll(removeSampleFolders);

describe("a comparison's folder", () => {
  it("holds the page, results.json of the format rig-report-comparison/1 and a CSV for every table and figure", () => {
    const results = JSON.parse(readPage(outDir, `${folder}/results.json`)) as Comparison;
    expect(results.format).toBe("rig-report-comparison/1");
    const html = readPage(outDir, `${folder}/index.html`);
    const files = listSiteFiles(join(outDir, folder));
    const figures = [...html.matchAll(/<figure class="figure" id="([^"]+)"/g)].map((match) => match[1]);
    expect(figures).toEqual([
      "fig-compare-strip",
      "fig-compare-cutouts",
      "fig-curve-sky",
      "fig-curve-sensor",
      "fig-curve-centre",
      "fig-curve-own",
    ]);
    for (const id of figures) expect(files).toContain(`figures/${id}.csv`);
    for (const [, id] of html.matchAll(/<div class="table" id="([^"]+)"/g))
      expect(files).toContain(`tables/${id}.csv`);
  });

  it("is listed in index.json and on the index, and repeated in both trains' results", () => {
    const index = JSON.parse(readPage(outDir, "index.json"));
    expect(index.comparisons[0]).toEqual({
      id: "native-against-reduced",
      name: "Native against reduced",
      page: `${folder}/index.html`,
      results: `${folder}/results.json`,
    });
    expect(readPage(outDir, "index.html")).toContain(`href="${folder}/index.html"`);
    const whole = JSON.parse(readPage(outDir, `${folder}/results.json`));
    for (const train of ["tarn-115-native", "tarn-115-reduced"]) {
      const { comparisons } = JSON.parse(readPage(outDir, `trains/${train}/results.json`));
      expect(comparisons[0]).toEqual(whole);
    }
  });

  it("shows cut-outs at one angle and at one size: windows of A and B in px stand as their scales do", () => {
    const svg = readPage(outDir, `${folder}/figures/fig-compare-cutouts.svg`);
    const windows = [...svg.matchAll(/viewBox="[\d.-]+ [\d.-]+ ([\d.]+) [\d.]+"><use/g)].map((match) =>
      Number(match[1]),
    );
    // Five places, A then B at equal angle, then A and B at equal size.
    expect(windows).toHaveLength(20);
    expect(windows[0] / windows[5]).toBeCloseTo(805 / 635.95, 3);
    expect(windows[10] / windows[15]).toBeCloseTo(1, 3);
    for (const [, href] of svg.matchAll(/href="([^"]+\.png)"/g))
      expect(existsSync(join(outDir, folder, "figures", href))).toBe(true);
  });

  it("titles the cut-outs by what they show: the narrower star of each of five pairs, counted in the table", () => {
    const csv = readPage(outDir, `${folder}/figures/fig-compare-cutouts.csv`).trim().split("\r\n").slice(1);
    const rows = csv.map((line) => line.split(","));
    const count = (by: string) => {
      const own = rows.filter(([matched]) => matched === by);
      const width = (place: string, side: string) =>
        Number(own.find(([, where, name]) => where === place && name === side)?.[5]);
      const places = [...new Set(own.map(([, where]) => where))];
      const narrower = places.filter((place) => width(place, "B") < width(place, "A"));
      return `${narrower.length} of ${places.length}`;
    };
    const [sky, sensor] = ["equal angle", "equal size on the sensor"].map(count);
    expect(readPage(outDir, `${folder}/index.html`)).toContain(
      `B’s star is the narrower in ${sky} pairs on the sky, in ${sensor} on the sensor`,
    );
  });

  it("reads well where nothing is known: it says why, draws nothing and calls neither side sharper", () => {
    // The stylesheet has a class of that name.
    const html = readPage(outDir, "comparisons/nothing-known/index.html").replace(/<style>.*?<\/style>/s, "");
    expect(html).toContain("Which side is sharper in the corners cannot be told");
    expect(html).not.toContain("<figure");
    expect(html).not.toMatch(/[AB] sharper|undefined|NaN|null/);
    expect(html).toContain("No star of side A was measured.");
  });

  it("gives the same bytes when built again", async () => {
    const dir = makeSampleFolder();
    const again = join(dir, "site");
    await buildSite({ ...(await makeComparedSite(dir)), site: sampleSite, outDir: again });
    for (const file of listSiteFiles(join(outDir, folder)))
      expect(readFileSync(join(again, folder, file)).equals(readFileSync(join(outDir, folder, file)))).toBe(
        true,
      );
  });
});
