import { mkdirSync, readFileSync, renameSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { gzipSync } from "node:zlib";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SiteServer, serveSite } from "../../../lib/commands/serve-site.ts";
import { buildSite } from "../../../lib/site/build-site.ts";
import { makeSampleResults } from "../../fixtures/sample-results.ts";
import { openBrowser } from "../browser.ts";
import {
  listSiteFiles,
  makeSampleFolder,
  makeSampleTrains,
  removeSampleFolders,
  sampleSite,
} from "../sample-site.ts";

let outDir: string;
let server: SiteServer;
let browser: Browser;
/** The same files from a folder of the disk, and from a sub-path of a host. */
let places: string[];

/** A reduced train with five tests of 1,500 stars, as a busy year leaves it. */
function makeBusyTrain() {
  const [reduced] = makeSampleResults();
  const tests = Array.from({ length: 5 }, (_, k) => {
    const test = reduced.tests[k % reduced.tests.length];
    return { ...test, id: `2026-10-${10 + k}`, date: `2026-10-${10 + k}` };
  });
  return { ...reduced, id: "busy", name: "Busy train", tests };
}

beforeAll(async () => {
  const dir = makeSampleFolder();
  const root = join(dir, "host");
  mkdirSync(root);
  await buildSite({
    trains: await makeSampleTrains(dir, [...makeSampleResults(), makeBusyTrain()]),
    site: sampleSite,
    outDir: join(dir, "site"),
  });
  outDir = join(root, "some where", "below");
  mkdirSync(join(root, "some where"));
  renameSync(join(dir, "site"), outDir);
  server = await serveSite(root, 18_432, false);
  places = [pathToFileURL(`${outDir}/`).href, `${server.address}some%20where/below/`];
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  server?.close();
  removeSampleFolders();
});

/** Opens a page, acts on it, and gives back what it asked for elsewhere and what the browser complained of. */
async function visit(address: string, act: (page: Page) => Promise<void>): Promise<string[]> {
  const page = await browser.newPage();
  const heard: string[] = [];
  page.on("request", (request) => {
    const url = request.url();
    if (!places.some((place) => url.startsWith(place)) && !url.startsWith("data:")) heard.push(url);
  });
  page.on("console", (message) => {
    if (/error|warning/.test(message.type())) heard.push(message.text());
  });
  page.on("pageerror", (error) => heard.push(String(error)));
  page.on("requestfailed", (request) => heard.push(`failed: ${request.url()}`));
  await page.goto(address);
  await act(page);
  await page.close();
  return heard;
}

describe.each([0, 1])("the site as files of a disk (0) and below a sub-path (1): place %i", (k) => {
  it("keeps its content policy and asks nothing of another host on any page, live charts open", async () => {
    const pages = listSiteFiles(outDir).filter((path) => path.endsWith("index.html"));
    expect(pages.length).toBeGreaterThan(4);
    for (const path of pages) {
      const heard = await visit(`${places[k]}${path}`, async (page) => {
        const buttons = page.locator("button.read-values");
        if ((await buttons.count()) === 0) return;
        await buttons.first().click();
        await page.locator(".live-chart canvas").first().waitFor();
      });
      expect(heard).toEqual([]);
    }
  });

  it("finds reports by their words, and filters the table by camera and gravest finding", async () => {
    const heard = await visit(`${places[k]}index.html`, async (page) => {
      const hits = page.locator("[data-hits] li");
      await page.locator(".find input[type=search]").fill("colour");
      await hits.first().waitFor();
      const names = await hits.locator("a").allTextContents();
      expect(names.length).toBeLessThan(5);
      await page.locator(".find input[type=search]").fill("nowhere to be found");
      await page.getByText("No report holds all these words.").waitFor();
      expect(await hits.count()).toBe(0);
      const rows = page.locator("#tbl-trains tbody tr");
      const all = await rows.count();
      const camera = page.locator('select[data-filter="camera"]');
      await camera.selectOption({ index: 1 });
      const shown = await page.locator("#tbl-trains tbody tr:visible").count();
      expect(shown).toBeGreaterThan(0);
      expect(shown).toBeLessThan(all);
      await page.getByText(`${shown} of ${all} trains shown`).waitFor();
      await camera.selectOption("");
      expect(await page.locator("#tbl-trains tbody tr:visible").count()).toBe(all);
    });
    expect(heard).toEqual([]);
  });
});

describe("a train's page with five tests", () => {
  it("takes at most 200,000 bytes gzipped for HTML, style, typefaces and script together", async () => {
    const asked = new Set<string>();
    const page = await browser.newPage();
    page.on("request", (request) => asked.add(decodeURIComponent(new URL(request.url()).pathname)));
    await page.goto(`${places[0]}trains/busy/index.html`);
    await page.evaluate("document.fonts.ready");
    await page.close();
    const files = [...asked].filter((path) => /\.(html|css|js|woff2)$/.test(path));
    expect(files.some((path) => path.endsWith("chart.js"))).toBe(false);
    const sizes = files.map((path) => {
      const bytes = readFileSync(path);
      return path.endsWith(".woff2") ? bytes.length : gzipSync(bytes, { level: 9 }).length;
    });
    expect(sizes.length).toBeGreaterThan(3);
    expect(sizes.reduce((sum, size) => sum + size, 0)).toBeLessThanOrEqual(200_000);
  });
});
