import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildSite } from "../../lib/site/build-site.ts";
import { openBrowser, type Visit, visitPage } from "./browser.ts";
import {
  makeComparedSite,
  makeHostileComparison,
  makeHostileResults,
  makeSampleFolder,
  removeSampleFolders,
  sampleSite,
} from "./sample-site.ts";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const paths = [
  "index.html",
  "methods/index.html",
  "trains/tarn-115-reduced/index.html",
  "comparisons/native-against-reduced/index.html",
  "comparisons/nothing-known/index.html",
];
let browser: Browser;
let outDir: string;
let hostileDir: string;

beforeAll(async () => {
  browser = await openBrowser();
  const dir = makeSampleFolder();
  outDir = join(dir, "a site with spaces");
  hostileDir = join(dir, "hostile");
  await buildSite({ ...(await makeComparedSite(dir)), site: sampleSite, outDir });
  await buildSite({
    trains: [{ results: { ...makeHostileResults(), comparisons: [makeHostileComparison()] }, cropDirs: {} }],
    comparisons: [makeHostileComparison()],
    site: sampleSite,
    outDir: hostileDir,
  });
});
afterAll(async () => {
  await browser?.close();
  removeSampleFolders();
});

const visit = <T>(
  dir: string,
  path: string,
  how: Visit,
  look: (page: Page, complaints: string[], requests: string[]) => Promise<T>,
): Promise<T> => visitPage(browser, join(dir, path), how, look);

/** Words of one picture that lie on each other by more than the room their letters leave, or beyond its edge. */
function listCollisions(): string[] {
  return [...document.querySelectorAll("svg.drawing")].flatMap((picture) => {
    const edge = picture.getBoundingClientRect();
    const words = [...picture.querySelectorAll("text")]
      .map((text) => ({ text: text.textContent, box: text.getBoundingClientRect() }))
      .filter(({ text, box }) => box.width > 0 && text.trim() !== "");
    return words.flatMap(({ text, box }, k) => {
      const over = words
        .slice(k + 1)
        .filter(
          ({ box: other }) =>
            Math.min(box.right, other.right) - Math.max(box.left, other.left) > 1.5 &&
            Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top) > 0.35 * box.height,
        )
        .map((other) => `${picture.id}: "${text}" over "${other.text}"`);
      const out = box.left < edge.left - 1 || box.right > edge.right + 1;
      return out ? [...over, `${picture.id}: "${text}" beyond the edge`] : over;
    });
  });
}

interface AxeRun {
  violations: { id: string; nodes: { target: string[]; failureSummary: string }[] }[];
}

describe("the built pages in a browser", () => {
  for (const dark of [false, true]) {
    it(`break no WCAG 2.2 A or AA rule that axe knows, ${dark ? "dark" : "light"}`, async () => {
      for (const path of paths) {
        // Only colours change with the scheme.
        const rules = dark
          ? "{ runOnly: { type: 'rule', values: ['color-contrast'] } }"
          : "{ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }";
        const found = await visit(outDir, path, { dark }, async (page) => {
          await page.evaluate(axe);
          const run = await page.evaluate(`axe.run(document, ${rules})`);
          return (run as AxeRun).violations.flatMap(({ id, nodes }) =>
            nodes
              .slice(0, 3)
              .map(({ target, failureSummary }) => `${path} ${id} ${target.join(" ")} ${failureSummary}`),
          );
        });
        expect(found).toEqual([]);
      }
    });
  }

  it("open from disk with no complaint and ask for nothing but their own files", async () => {
    for (const path of paths) {
      await visit(outDir, path, {}, async (page, complaints, requests) => {
        await page.evaluate("document.fonts.ready.then(() => true)");
        expect(complaints).toEqual([]);
        for (const address of requests) expect(address).toMatch(/^(file:|data:image\/)/);
        expect(requests.some((address) => /\/assets\/fonts\/[^/]+\.woff2$/.test(address))).toBe(true);
        expect(await page.evaluate("getComputedStyle(document.body).getPropertyValue('--rule')")).not.toBe(
          "",
        );
        expect(await page.evaluate("document.fonts.check('16px \"Report Serif\"')")).toBe(true);
      });
    }
  });

  for (const width of [320, 390, 720]) {
    it(`do not scroll sideways at ${width} px`, async () => {
      for (const path of paths) {
        const sizes = await visit(outDir, path, { width }, (page) =>
          page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]"),
        );
        expect(sizes).toEqual([width, width]);
      }
    });
  }

  for (const width of [320, 1440]) {
    it(`keep the words of every picture apart and within it at ${width} px`, async () => {
      for (const path of paths) {
        expect(await visit(outDir, path, { width }, (page) => page.evaluate(listCollisions))).toEqual([]);
      }
    });
  }

  it("show findings, numbers and pictures without script, and no switch that would do nothing", async () => {
    await visit(outDir, paths[2], { script: false }, async (page) => {
      expect(await page.locator("#findings .level").first().textContent()).toBe("Watch.");
      expect(await page.locator("figure svg").first().isVisible()).toBe(true);
      expect(await page.locator("[data-unit-switch]").isVisible()).toBe(false);
    });
  });

  it("switch star widths to one unit and back to all", async () => {
    await visit(outDir, paths[2], {}, async (page) => {
      const heading = (unit: string) => page.locator(`#tbl-zones-2026-10-03 th[data-unit="${unit}"]`);
      await page.locator('[data-unit-switch] input[value="um"]').check();
      expect(await heading("um").isVisible()).toBe(true);
      expect(await heading("px").isVisible()).toBe(false);
      await page.locator('[data-unit-switch] input[value="all"]').check();
      expect(await heading("px").isVisible()).toBe(true);
    });
  });

  it("put the verdict of a comparison first, in words, and lead from and to its trains", async () => {
    await visit(outDir, paths[3], { script: false }, async (page) => {
      const headings = await page.locator("main h2").allTextContents();
      expect(headings[0]).toBe("Verdict");
      expect(await page.locator("#verdict .lead").textContent()).toBe(
        "In the corners B is sharper in pixels, on the sky of its own night and at equal sampling; A is sharper by the optics’ own blur on the sensor.",
      );
      await page.locator('.sides a[href*="tarn-115-native"]').click();
      expect(page.url()).toMatch(/tarn-115-native\/index\.html/);
      await page.locator("#comparisons a").first().click();
      expect(page.url()).toMatch(/comparisons\/native-against-reduced\/index\.html$/);
    });
  });

  it("sort the table of trains by a column, up and then down, what is not known last", async () => {
    await visit(outDir, "index.html", {}, async (page, complaints) => {
      const scales = () => page.locator("#tbl-trains tbody td:nth-child(6)").allTextContents();
      const press = page.locator("#tbl-trains th:nth-child(6) button");
      await press.click();
      const up = (await scales()).map(Number.parseFloat);
      expect(up).toEqual([...up].sort((a, b) => a - b));
      expect(await page.locator("#tbl-trains th:nth-child(6)").getAttribute("aria-sort")).toBe("ascending");
      await press.click();
      expect((await scales()).map(Number.parseFloat)).toEqual([...up].reverse());
      expect(complaints).toEqual([]);
    });
    await visit(outDir, "index.html", { script: false }, async (page) => {
      expect(await page.locator("#tbl-trains button").count()).toBe(0);
      expect(await page.locator("#tbl-trains tbody tr").count()).toBe(3);
    });
  });

  it("let a reader open a live chart", async () => {
    await visit(outDir, paths[2], {}, async (page, complaints) => {
      await page.locator("button.read-values").first().click();
      await page.locator(".live-chart canvas").first().waitFor();
      expect(complaints).toEqual([]);
    });
  });

  it("run nothing that a hostile record holds", async () => {
    for (const path of [
      "index.html",
      "trains/tarn-115-reduced/index.html",
      "comparisons/native-against-reduced/index.html",
    ]) {
      await visit(hostileDir, path, { width: 320 }, async (page, complaints) => {
        expect(await page.evaluate("window.broken")).toBeUndefined();
        expect(complaints).toEqual([]);
        expect(await page.evaluate("document.documentElement.scrollWidth")).toBe(320);
      });
    }
  });

  it("print every section's text: only what leads elsewhere, works by script or is folded away is left out", async () => {
    for (const path of paths) {
      const hidden = await visit(outDir, path, {}, async (page) => {
        await page.emulateMedia({ media: "print" });
        return page.evaluate(() =>
          [...document.querySelectorAll<HTMLElement>("main h2, main h3, main dd, main caption, main p")]
            .filter((element) => element.getClientRects().length === 0)
            .filter(
              (element) => !element.closest(".files, .all-terms, .by-script, details, dialog, [hidden]"),
            )
            .map((element) => element.textContent?.trim().slice(0, 60) ?? "")
            .filter((text) => text !== ""),
        );
      });
      expect(hidden, path).toEqual([]);
    }
  });

  it("print in light colours, with the contents list left out", async () => {
    await visit(outDir, paths[2], { dark: true }, async (page) => {
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      expect(await page.evaluate("getComputedStyle(document.documentElement).backgroundColor")).toBe(
        "rgb(255, 255, 255)",
      );
      expect(await page.locator(".contents").isVisible()).toBe(false);
      expect(await page.evaluate("getComputedStyle(document.querySelector('thead')).display")).toBe(
        "table-header-group",
      );
    });
  });
});
