import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, relative } from "node:path";
import sharp from "sharp";
import type { SiteRecord } from "../../lib/records/types.ts";
import type { Comparison, TrainResults } from "../../lib/report/results.ts";
import type { SiteTrain } from "../../lib/site/build-site.ts";
import { makeEmptyComparison, makeSampleComparison } from "../fixtures/sample-comparison.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

export const sampleSite: SiteRecord = {
  title: "Fellside Star Club: optical trains",
  author: "M. Harrowgate",
  club: "Fellside Star Club",
  baseUrl: "https://fellside.example/trains/",
  language: "en",
  tolerances: {},
};

const opened: string[] = [];

/** A folder of its own for a test; `removeSampleFolders` takes all of them away. */
export function makeSampleFolder(): string {
  const dir = mkdtempSync(join(tmpdir(), "site-"));
  opened.push(dir);
  return dir;
}

export function removeSampleFolders(): void {
  for (const dir of opened.splice(0)) rmSync(dir, { recursive: true, force: true });
}

/** A 16-bit grey PNG of a round star with a sloping sky, as measuring writes cut-outs. */
async function drawStar(side: number): Promise<Buffer> {
  const samples = new Uint16Array(side * side);
  const centre = (side - 1) / 2;
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) {
      const r2 = (x - centre) ** 2 + (y - centre) ** 2;
      samples[y * side + x] = 800 + x + 30000 * Math.exp(-r2 / 8);
    }
  }
  return sharp(samples, { raw: { width: side, height: side, channels: 1 } })
    .toColourspace("grey16")
    .png()
    .toBuffer();
}

/** The sample trains with cut-outs on disk below `dir`, one folder a test. */
export async function makeSampleTrains(dir: string, results = makeSampleResults()): Promise<SiteTrain[]> {
  const star = await drawStar(33);
  return results.map((train) => {
    const cropDirs = Object.fromEntries(
      train.tests.map((test) => [test.id, join(dir, train.id, "tests", test.id)]),
    );
    for (const test of train.tests) {
      for (const { file } of test.spokes?.crops ?? []) {
        const path = join(cropDirs[test.id], file);
        mkdirSync(dirname(path), { recursive: true });
        writeFileSync(path, star);
      }
    }
    return { results: train, cropDirs };
  });
}

/** The sample trains, a comparison with all parts and one where nothing is known, each in both trains' results. */
export async function makeComparedSite(
  dir: string,
): Promise<{ trains: SiteTrain[]; comparisons: Comparison[] }> {
  const results = makeSampleResults();
  const comparisons = [makeSampleComparison(results), makeEmptyComparison(results)];
  const withThem = results.map((train) => ({
    ...train,
    comparisons: comparisons.filter(({ a, b }) => a.train === train.id || b.train === train.id),
  }));
  return { trains: await makeSampleTrains(dir, withThem), comparisons };
}

/** Paths of all files below a folder, sorted, with forward slashes. */
export function listSiteFiles(dir: string): string[] {
  return readdirSync(dir, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(dir, join(entry.parentPath, entry.name)).replaceAll("\\", "/"))
    .sort();
}

export function readPage(dir: string, path: string): string {
  return readFileSync(join(dir, path), "utf8");
}

/** A train whose every text, and every name within its record, tries to break out of the page it stands on. */
export function makeHostileResults(): TrainResults {
  const [template] = makeSampleResults();
  return spoilTexts(template, "") as TrainResults;
}

/** A comparison of that train with itself in another state, as hostile; ids and addresses stay. */
export function makeHostileComparison(): Comparison {
  const whole = makeSampleComparison();
  const ids = { train: whole.b.train, test: whole.b.test };
  return { ...(spoilTexts(whole, "") as Comparison), id: whole.id, a: ids, b: ids };
}

const attack = `"><script>window.broken=1</script><img src=x onerror=window.broken=1>'{{ 7*7 }}{% raw %}\u202e\u0000]]>`;

function spoilTexts(value: unknown, key: string): unknown {
  if (typeof value === "string") {
    return keptWords.has(key) ||
      /^(px|um|mm|arcsec|deg|ratio|ADU|arcsec\/px|[ab]Sharper|noDifference|cannotTell)$/.test(value)
      ? value
      : // Braces of the review would name a value; escaped they are text, as its author would write them.
        `${value} ${key === "reviewMarkdown" ? attack.replace("{{", "\\{{") : attack}`;
  }
  if (Array.isArray(value)) return value.map((inner) => spoilTexts(inner, key));
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, spoilTexts(inner, name)]));
}

/** Words that the results format fixes, which no user writes. */
const keptWords = new Set([
  "format",
  "class",
  "changeIs",
  "coarser",
  "id",
  "unit",
  "level",
  "halfDiagonal",
  "kind",
  "radialMeans",
  "cfa",
]);
