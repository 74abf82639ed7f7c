import { copyFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildSite } from "../../../lib/site/build-site.ts";
import { openBrowser } from "../browser.ts";
import {
  makeComparedSite,
  makeHostileResults,
  makeSampleFolder,
  readPage,
  removeSampleFolders,
  sampleSite,
} from "../sample-site.ts";

const files = [
  "trains/tarn-115-reduced/tarn-115-reduced-report.html",
  "comparisons/native-against-reduced/native-against-reduced-report.html",
];
const [file] = files;
let outDir: string;
let browser: Browser | undefined;

beforeAll(async () => {
  const dir = makeSampleFolder();
  outDir = join(dir, "site");
  await buildSite({
    ...(await makeComparedSite(dir)),
    site: { ...sampleSite, baseUrl: "https://fellside.example/reports/" },
    outDir,
  });
});
afterAll(async () => {
  await browser?.close();
  removeSampleFolders();
});

describe("the report as one file", () => {
  it.each(files)(
    "asks for nothing else: every address in %s is an anchor, data, or a whole one behind a link",
    (name) => {
      const html = readPage(outDir, name);
      for (const [tag, , value] of html.matchAll(/<[a-z]+\b[^>]*?\s(href|src)="([^"]*)"/g)) {
        if (/^<(?:a|link)\b/.test(tag)) expect(value).toMatch(/^(#|https?:|mailto:|data:image)/);
        else if (tag.startsWith("<use ")) expect(html).toContain(`<image id="${value.slice(1)}" href="data:`);
        else expect(value).toMatch(/^data:/);
      }
      expect(html).not.toMatch(/<link rel="(?!canonical|icon)|data-chart-file|url\("fonts/);
      const folder = name.replace(/[^/]*$/, "");
      expect(html).toContain(`href="https://fellside.example/reports/${folder}results.json"`);
    },
  );

  it("opens from disk in a browser: typefaces, pictures and a live chart, no request, no complaint", async () => {
    browser ??= await openBrowser();
    const page = await browser.newPage();
    const requests: string[] = [];
    const complaints: string[] = [];
    page.on("request", (request) => requests.push(request.url()));
    page.on("console", (message) => {
      if (/error|warning/.test(message.type())) complaints.push(message.text());
    });
    page.on("pageerror", (error) => complaints.push(String(error)));
    // Alone in a folder, as it was mailed.
    const alone = join(makeSampleFolder(), "report.html");
    copyFileSync(join(outDir, file), alone);
    const address = pathToFileURL(alone).href;
    await page.goto(address);
    await page.locator("button.read-values").first().click();
    await page.locator(".live-chart canvas").first().waitFor();
    expect(await page.evaluate("document.fonts.check('16px \"Report Serif\"')")).toBe(true);
    expect(await page.locator("svg use").count()).toBeGreaterThan(10);
    expect(requests.filter((url) => url !== address && !url.startsWith("data:"))).toEqual([]);
    expect(complaints).toEqual([]);
    await page.close();
  });

  it("has no words that lead nowhere where the site has no address, and never points to itself", async () => {
    const dir = makeSampleFolder();
    await buildSite({
      ...(await makeComparedSite(dir)),
      site: { ...sampleSite, baseUrl: "" },
      outDir: join(dir, "site"),
    });
    for (const name of files) {
      const [alone, published] = [readPage(join(dir, "site"), name), readPage(outDir, name)];
      expect(alone).not.toMatch(
        /as CSV|as SVG|All trains|More in the methods|All terms|This record as a file/,
      );
      expect(alone).not.toMatch(/<p class="(?:note|files|all-terms)">\s*<\/p>/);
      expect(published).toMatch(/Figure 1 as CSV.*Table 1 as CSV|Table 1 as CSV.*Figure 1 as CSV/s);
      for (const html of [alone, published]) {
        expect(html).toContain("This file is the whole report");
        expect(html).not.toMatch(/href="[^"]*-report\.html"/);
      }
    }
    expect(readPage(outDir, file)).toMatch(/More in the methods/);
  });

  it("runs nothing that a hostile record holds, with its live charts open", async () => {
    const hostile = makeHostileResults();
    const dir = makeSampleFolder();
    await buildSite({
      trains: [{ results: hostile, cropDirs: {} }],
      site: sampleSite,
      outDir: join(dir, "site"),
    });
    browser ??= await openBrowser();
    const page = await browser.newPage();
    const complaints: string[] = [];
    page.on("console", (message) => {
      if (/error|warning/.test(message.type())) complaints.push(message.text());
    });
    page.on("pageerror", (error) => complaints.push(String(error)));
    await page.goto(pathToFileURL(join(dir, "site/trains", hostile.id, `${hostile.id}-report.html`)).href);
    await page.locator("button.read-values").first().click();
    await page.locator(".live-chart canvas").first().waitFor();
    expect(await page.evaluate("window.broken")).toBeUndefined();
    expect(await page.locator("script:not([type])").count()).toBe(2);
    expect(complaints).toEqual([]);
    await page.close();
  });
});
