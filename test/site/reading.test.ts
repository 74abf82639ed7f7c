import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildSite } from "../../lib/site/build-site.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";
import { openBrowser } from "./browser.ts";
import { makeSampleFolder, makeSampleTrains, removeSampleFolders, sampleSite } from "./sample-site.ts";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const review = `Stars are {{ tests.2026-10-03.zones.centre.fwhm }} wide.{{ note: So says {{ see: table zones 2026-10-03 }}. }}

{{ figure: spokes 2026-10-03 }}

{{ table: back-focus }}
`;
let browser: Browser;
let outDir: string;
let page: string;

beforeAll(async () => {
  browser = await openBrowser();
  const dir = makeSampleFolder();
  outDir = join(dir, "site");
  const results = makeSampleResults();
  results[0].page.reviewMarkdown = review;
  results[1].page.draft = true;
  await buildSite({ trains: await makeSampleTrains(dir, results), site: sampleSite, outDir });
  page = pathToFileURL(join(outDir, "trains/tarn-115-reduced/index.html")).href;
});
afterAll(async () => {
  await browser?.close();
  removeSampleFolders();
});

interface Visit {
  width?: number;
  dark?: boolean;
  script?: boolean;
}

async function visit<T>(
  { width = 1280, dark = false, script = true }: Visit,
  look: (page: Page) => Promise<T>,
): Promise<T> {
  const context = await browser.newContext({
    viewport: { width, height: 900 },
    colorScheme: dark ? "dark" : "light",
    javaScriptEnabled: script,
  });
  try {
    const opened = await context.newPage();
    await opened.goto(page);
    return await look(opened);
  } finally {
    await context.close();
  }
}

const prose = (opened: Page) => opened.locator("#review .measured").first();

async function listViolations(opened: Page): Promise<string[]> {
  await opened.evaluate(axe);
  const run = (await opened.evaluate("axe.run(document)")) as {
    violations: { id: string; nodes: { target: string[] }[] }[];
  };
  return run.violations.flatMap(({ id, nodes }) =>
    nodes.slice(0, 3).map(({ target }) => `${id} ${target.join(" ")}`),
  );
}

const openAll = async (opened: Page) => {
  await opened.locator("#fig-zones button").click();
  await opened.locator("#fig-zones canvas").waitFor();
};

describe("the unit switch", () => {
  it("changes tables, figures, key numbers and the author's values, and is remembered", async () => {
    await visit({}, async (opened) => {
      expect(await prose(opened).textContent()).toMatch(/µm$/);
      await opened.locator('[data-unit-switch] input[value="arcsec"]').check();
      for (let round = 0; round < 2; round++) {
        expect(await prose(opened).textContent()).toMatch(/″$/);
        expect(await opened.locator('#key-numbers [data-unit="arcsec"]').first().isVisible()).toBe(true);
        expect(await opened.locator('#key-numbers [data-unit="px"]').first().isVisible()).toBe(false);
        expect(
          await opened.locator('#fig-zones svg [data-unit="arcsec"]').first().getAttribute("display"),
        ).toBeNull();
        expect(await opened.locator('#fig-zones svg [data-unit="um"]').first().getAttribute("display")).toBe(
          "none",
        );
        await opened.reload();
      }
    });
  });
});

describe("the cut-outs", () => {
  it("are enlarged by a click, gone through by arrow keys and closed by Escape", async () => {
    await visit({}, async (opened) => {
      await opened.locator("figure[id^='fig-spokes'] .enlarges").first().click();
      const dialog = opened.locator("dialog[open]");
      const first = await dialog.locator("p").first().textContent();
      expect(first).toMatch(/^1 of \d+: .*px wide, ellipticity/);
      await opened.keyboard.press("ArrowRight");
      expect(await dialog.locator("p").first().textContent()).toMatch(/^2 of /);
      await opened.keyboard.press("ArrowLeft");
      await opened.keyboard.press("ArrowLeft");
      expect(await dialog.locator("p").first().textContent()).toMatch(/^(\d+) of \1:/);
      expect(await dialog.locator("svg").getAttribute("aria-label")).toMatch(/^Star /);
      await opened.keyboard.press("Escape");
      expect(await opened.locator("dialog[open]").count()).toBe(0);
    });
  });

  it("open from the keyboard and give the focus back", async () => {
    await visit({}, async (opened) => {
      const button = opened.getByRole("button", { name: "Enlarge the cut-outs" }).first();
      await button.focus();
      await opened.keyboard.press("Enter");
      expect(await opened.locator("dialog[open]").count()).toBe(1);
      await opened.getByRole("button", { name: "Close" }).press("Enter");
      expect(await button.evaluate((element) => element === document.activeElement)).toBe(true);
    });
  });

  it("stand enlarged as their cell of the sheet: the last one's window ends where the sheet does", async () => {
    await visit({}, async (opened) => {
      await opened.getByRole("button", { name: "Enlarge the cut-outs" }).first().click();
      await opened.keyboard.press("ArrowLeft");
      const view = opened.locator("dialog[open] svg");
      const [, top, , side] = ((await view.getAttribute("viewBox")) ?? "").split(" ").map(Number);
      expect(top + side).toBe(Number(await view.locator("image").getAttribute("height")));
    });
  });

  it("are two sheets, as seen and as measured, where there is no script", async () => {
    await visit({ script: false }, async (opened) => {
      const line = opened.locator(".files", { hasText: "Star cut-outs" }).first();
      expect(await line.textContent()).toMatch(
        /\d+, below each other in cells of 33.px.*as seen as measured/,
      );
      expect(await line.locator("a").count()).toBe(2);
    });
  });
});

describe("a live chart", () => {
  it("opened by a key takes the focus for its arrows, and Escape goes back to the button", async () => {
    await visit({}, async (opened) => {
      const button = opened.locator("#fig-zones button");
      await button.focus();
      await opened.keyboard.press("Enter");
      await opened.waitForFunction("document.activeElement.matches('#fig-zones canvas')");
      await opened.keyboard.press("ArrowRight");
      await opened.keyboard.press("Escape");
      await opened.waitForFunction("document.querySelector('#fig-zones canvas') === null");
      expect(await button.evaluate((element) => element === document.activeElement)).toBe(true);
      expect(await button.textContent()).toBe("Read values");
    });
  });

  it("switches a test's marks off and on by keyboard, and keeps them off in another unit", async () => {
    await visit({}, async (opened) => {
      await openAll(opened);
      const box = opened.locator("#fig-zones .series input").first();
      await box.focus();
      await opened.keyboard.press("Space");
      expect(await box.isChecked()).toBe(false);
      await opened.locator('[data-unit-switch] input[value="px"]').check();
      await opened.locator("#fig-zones canvas").waitFor();
      expect(await opened.locator("#fig-zones .series input").first().isChecked()).toBe(false);
      expect(await opened.locator("#fig-zones .series input").nth(1).isChecked()).toBe(true);
    });
  });
});

describe("the words of a page", () => {
  it("lead from their first use to the page's own list by keyboard, without script", async () => {
    await visit({ script: false }, async (opened) => {
      const term = opened.locator("main a.term").first();
      const target = await term.getAttribute("href");
      expect(target).toMatch(/^#term-/);
      await term.focus();
      await opened.keyboard.press("Enter");
      expect(await opened.locator(`dt${target}`).isVisible()).toBe(true);
      expect(opened.url().endsWith(String(target))).toBe(true);
    });
  });
});

describe("the author's account", () => {
  it("holds the figure and the table it places, once each, and the sections point to them", async () => {
    await visit({ script: false }, async (opened) => {
      expect(await opened.locator("#review #fig-spokes-2026-10-03").count()).toBe(1);
      expect(await opened.locator("#review #tbl-back-focus").count()).toBe(1);
      expect(await opened.locator("#back-focus .elsewhere a").getAttribute("href")).toBe("#tbl-back-focus");
      expect(await opened.locator("#test-2026-10-03 .elsewhere a").first().getAttribute("href")).toBe(
        "#fig-spokes-2026-10-03",
      );
    });
  });

  it("has figures and tables numbered in the order of the page, without a gap", async () => {
    await visit({ script: false }, async (opened) => {
      for (const kind of ["figure:not(.photo) figcaption .number", ".table caption .number"]) {
        const numbers = await opened.locator(kind).allTextContents();
        expect(numbers.map((text) => Number(text.replace(/\D/g, "")))).toEqual(numbers.map((_, k) => k + 1));
      }
    });
  });

  it("of a draft is marked on its page and left out of the lists", async () => {
    const draft = readFileSync(join(outDir, "trains/tarn-115-native/index.html"), "utf8");
    expect(draft).toContain('<p class="draft">');
    expect(draft).toContain('content="noindex"');
    for (const name of ["index.html", "index.json", "trains.csv"])
      expect(readFileSync(join(outDir, name), "utf8")).not.toContain("tarn-115-native");
  });
});

describe("with everything opened", () => {
  for (const dark of [false, true]) {
    it(`axe finds nothing, ${dark ? "dark" : "light"}`, async () => {
      await visit({ dark }, async (opened) => {
        await openAll(opened);
        expect(await listViolations(opened)).toEqual([]);
        await opened.getByRole("button", { name: "Enlarge the cut-outs" }).first().click();
        expect(await listViolations(opened)).toEqual([]);
      });
    });
  }

  it.each([640, 1024, 1280, 1360, 1366, 1440])("nothing scrolls sideways at %i px", async (width) => {
    await visit({ width }, async (opened) => {
      await openAll(opened);
      const over = "document.documentElement.scrollWidth - document.documentElement.clientWidth";
      expect(await opened.evaluate(over)).toBe(0);
    });
  });

  it("nothing scrolls sideways at 320 px", async () => {
    await visit({ width: 320 }, async (opened) => {
      await openAll(opened);
      expect(await opened.evaluate("document.documentElement.scrollWidth")).toBe(320);
      await opened.getByRole("button", { name: "Enlarge the cut-outs" }).first().click();
      const box = await opened.locator("dialog[open]").boundingBox();
      expect((box?.x ?? -1) >= 0 && (box?.x ?? 0) + (box?.width ?? 999) <= 320).toBe(true);
    });
  });

  it("prints the pictures, keeps a table with its head and leaves the controls out", async () => {
    await visit({}, async (opened) => {
      await openAll(opened);
      await opened.emulateMedia({ media: "print" });
      await opened.evaluate("window.dispatchEvent(new Event('beforeprint'))");
      expect(await opened.locator("#fig-zones .picture").isVisible()).toBe(true);
      expect(await opened.locator("#fig-zones canvas").isVisible()).toBe(false);
      expect(await opened.locator("[data-unit-switch]").isVisible()).toBe(false);
      const style = "(name) => getComputedStyle(document.querySelector(name)).breakInside";
      for (const name of [".table", ".figure", ".facts"])
        expect(await opened.evaluate(`(${style})(${JSON.stringify(name)})`)).toBe("avoid");
    });
  });
});
