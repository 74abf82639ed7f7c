import { createHash } from "node:crypto";
import { join } from "node:path";
import { runInNewContext } from "node:vm";
import { HtmlValidate } from "html-validate";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildSite } from "../../lib/site/build-site.ts";
import { checkSite, rootFolders } from "../../lib/site/check-site.ts";
import { makePageStyle } from "../../lib/site/page-style.ts";
import { readStylesheet } from "../../lib/site/template-files.ts";
import {
  listSiteFiles,
  makeComparedSite,
  makeHostileComparison,
  makeHostileResults,
  makeSampleFolder,
  readPage,
  removeSampleFolders,
  sampleSite,
} from "./sample-site.ts";

let outDir: string;
let hostileDir: string;
let pages: string[];

beforeAll(async () => {
  const dir = makeSampleFolder();
  outDir = join(dir, "site");
  hostileDir = join(dir, "hostile");
  await buildSite({ ...(await makeComparedSite(dir)), site: sampleSite, outDir });
  const attack = `"><script>window.broken=1</script>`;
  await buildSite({
    trains: [{ results: { ...makeHostileResults(), comparisons: [makeHostileComparison()] }, cropDirs: {} }],
    comparisons: [makeHostileComparison()],
    site: {
      ...sampleSite,
      title: attack,
      author: attack,
      club: attack,
      language: attack,
      baseUrl: "javascript:1",
    },
    outDir: hostileDir,
  });
  pages = listSiteFiles(outDir).filter((path) => path.endsWith(".html") && !path.endsWith("-report.html"));
});
afterAll(removeSampleFolders);

/** The recommended rules as they are: HTML standard, unique ids, heading order, WCAG names and scopes. */
const validator = new HtmlValidate({ extends: ["html-validate:recommended"] });

/** This rule counts an entity as the signs it is written with, and hostile names are full of them. */
const patient = new HtmlValidate({ extends: ["html-validate:recommended"], rules: { "long-title": "off" } });

async function listBreaches(dir: string, path: string): Promise<string[]> {
  const report = await (dir === hostileDir ? patient : validator).validateString(readPage(dir, path));
  return report.results.flatMap(({ messages }) =>
    messages.map(({ ruleId, line, message }) => `${path}:${line} ${ruleId}: ${message}`),
  );
}

/** What a reader sees of a page: no tags, entities read. */
function readWords(html: string): string {
  return html
    .replace(/<(script|style|svg|head)\b[\s\S]*?<\/\1>/g, " ")
    .replace(/<[^>]*>/g, " ")
    .replace(/&nbsp;|\u00a0/g, " ")
    .replace(/\s+/g, " ");
}

/** Each place where a pattern is found, with a few words around it: a whole page in a failed test helps nobody. */
function findPlaces(text: string, pattern: RegExp): string[] {
  return [...text.matchAll(new RegExp(pattern.source, `${pattern.flags.replace("g", "")}g`))].map((found) =>
    text.slice(Math.max(0, found.index - 60), found.index + found[0].length + 60),
  );
}

/** Names in drawings that only mark what a part is. */
const unstyled = new Set(["axis", "key", "parts", "stars"]);

describe("every page", () => {
  it("is valid HTML by the recommended rules, hostile names included", async () => {
    const breaches = [
      ...(await Promise.all(pages.map((path) => listBreaches(outDir, path)))).flat(),
      ...(await listBreaches(hostileDir, "index.html")),
      ...(await listBreaches(hostileDir, "trains/tarn-115-reduced/index.html")),
    ];
    expect(breaches).toEqual([]);
  });

  it("has only links that lead somewhere within the site", () => {
    const folders = pages
      .filter((path) => path.startsWith("trains/"))
      .map((path) => path.replace("/index.html", ""));
    expect(checkSite(outDir, [...rootFolders, ...folders])).toEqual([]);
  });

  it("asks for nothing from another host and for nothing by an address from the root", () => {
    for (const path of pages) {
      const html = readPage(outDir, path);
      const fetched = html.match(/<(?:script|img|link|image|source|iframe)\b[^>]*>/g) ?? [];
      for (const tag of fetched.filter((tag) => !tag.includes('rel="canonical"'))) {
        expect(tag).not.toMatch(/(?:src|href)="(?:[a-z]+:)?\/\//i);
      }
      expect(findPlaces(html, /\s(?:src|href)="\//)).toEqual([]);
      expect(findPlaces(html, /\sstyle="/)).toEqual([]);
      expect(findPlaces(html, /type="module"/)).toEqual([]);
    }
  });

  it("holds one style, the site's own with typefaces from its folder, and a policy that allows this one alone", () => {
    for (const path of pages) {
      const html = readPage(outDir, path);
      const styles = [...html.matchAll(/<style\b[^>]*>([\s\S]*?)<\/style>/g)].map(([, css]) => css);
      const root = "../".repeat(path.split("/").length - 1);
      expect(styles).toEqual([makePageStyle((name) => `${root}assets/${name}`)]);
      expect(findPlaces(styles[0], /url\("?(?:https?:)?\/\//)).toEqual([]);
      const digest = createHash("sha256").update(styles[0]).digest("base64");
      expect(html).toContain(`style-src &#39;sha256-${digest}&#39;;`);
      expect(findPlaces(html, /<link rel="stylesheet"/)).toEqual([]);
    }
  });

  it("gives every table a caption and scopes", () => {
    for (const path of pages) {
      const html = readPage(outDir, path);
      for (const [table] of html.matchAll(/<table\b[\s\S]*?<\/table>/g)) {
        expect(table).toMatch(/<caption/);
        for (const [heading] of table.matchAll(/<th\b[^>]*>/g))
          expect(heading).toMatch(/scope="(?:row|col)"/);
      }
    }
  });

  it("gives every figure a number, a title, a text alternative, its files and its numbers", () => {
    const html = readPage(outDir, "trains/tarn-115-reduced/index.html");
    const figures = [...html.matchAll(/<figure\b[\s\S]*?<\/figure>/g)].map(([figure]) => figure);
    expect(figures.length).toBeGreaterThan(8);
    figures.forEach((figure, k) => {
      expect(figure).toContain(`Figure ${k + 1}.`);
      expect(figure).toMatch(/<svg\b[^>]*role="img"[^>]*aria-labelledby=/);
      expect(figure).toMatch(/<desc\b[^>]*>[^<]+<\/desc>/);
      expect(figure).toMatch(/href="figures\/[^"]+\.csv"/);
      expect(figure).toMatch(/href="figures\/[^"]+\.svg"/);
      expect(figure).toMatch(/<details>[\s\S]*<table class="numbers">/);
    });
  });

  it("styles every class that a drawing in the page uses", () => {
    const style = readStylesheet();
    for (const path of pages) {
      const drawings = readPage(outDir, path).match(/<svg\b[\s\S]*?<\/svg>/g) ?? [];
      const classes = drawings.flatMap((svg) =>
        [...svg.matchAll(/\sclass="([^"]+)"/g)].flatMap((found) => found[1].split(" ")),
      );
      expect(
        [...new Set(classes)].filter((name) => !style.includes(`.${name}`) && !unstyled.has(name)),
      ).toEqual([]);
    }
  });
});

describe("a train's page", () => {
  it("keeps its order: what it is, findings, key numbers, drawing, tests newest first, workings, records, cautions", () => {
    const words = readWords(readPage(outDir, "trains/tarn-115-reduced/index.html")).replace(
      /^.*?On this page.*?Warnings and cautions/,
      "",
    );
    const places = [
      "The Tarnlight 115, 115 mm of aperture and 805 mm of focal length",
      "Findings so far",
      "Watch.",
      "Key numbers",
      "Figure 1.",
      "Test of 21 October 2026",
      "Test of 9 October 2026",
      "Test of 3 October 2026",
      "Sampling",
      "Back focus By the records the sensor is 0.68 mm too close: add 0.68 mm",
      "Records as entered",
      "Where the numbers come from",
      "certified filter over the full aperture",
    ].map((text) => words.indexOf(text));
    expect(places).not.toContain(-1);
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  it("links a finding to the zone table it rests on", () => {
    const html = readPage(outDir, "trains/tarn-115-reduced/index.html");
    expect(
      findPlaces(html, /<a href="#tbl-zones-2026-10-03">zone table, 3\u00a0October 2026<\/a>/),
    ).toHaveLength(1);
  });

  it("shows what cannot be told as such, with its reason", () => {
    const words = readWords(readPage(outDir, "trains/tarn-115-native/index.html"));
    expect(words).toContain("There is no corrector to compare with.");
    expect(words).toContain("No star was measured in this test, so there is no zone table.");
  });

  it("prints no NaN, undefined, null or object", () => {
    for (const path of pages)
      expect(findPlaces(readWords(readPage(outDir, path)), /NaN|undefined|\bnull\b|\[object/)).toEqual([]);
  });
});

describe("hostile names", () => {
  it("stay text in every page, drawing and table", () => {
    for (const path of listSiteFiles(hostileDir).filter((name) => /\.(html|svg)$/.test(name))) {
      const text = readPage(hostileDir, path);
      expect(findPlaces(text, /<script>window/)).toEqual([]);
      expect(findPlaces(text, /<img\b/)).toEqual([]);
      expect(findPlaces(text, /\u202e/)).toEqual([]);
      expect(findPlaces(text, /javascript:/)).toEqual([]);
    }
    const html = readPage(hostileDir, "trains/tarn-115-reduced/index.html");
    expect(html.includes("&lt;script&gt;window.broken=1&lt;/script&gt;")).toBe(true);
    expect(html.includes("{{ 7*7 }}{% raw %}")).toBe(true);
    expect(findPlaces(html, /\b49\{% raw/)).toEqual([]);
  });

  it("cannot leave the texts of a chart's script, nor a script element that holds it", () => {
    const scripts = listSiteFiles(hostileDir).filter((path) => path.endsWith(".chart.js"));
    expect(scripts.length).toBeGreaterThan(2);
    for (const path of scripts) {
      const script = readPage(hostileDir, path);
      const window: { rigReportCharts?: Record<string, unknown>; broken?: number } = {};
      runInNewContext(script, { window });
      expect(Object.keys(window.rigReportCharts ?? {})).toEqual([path.replace(/.*\/|\.chart\.js$/g, "")]);
      expect(window.broken).toBeUndefined();
      expect(script).not.toContain("<");
    }
  });
});
