import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { explainTerms, glossary, termsPlace, writeTerm } from "../../../lib/site/glossary/explain-terms.ts";

const page = (inside: string) =>
  `<html><head><title>FWHM</title></head><main id="main">${inside}</main></html>`;

describe("explainTerms", () => {
  it("links a term where it first stands in running text, and only there", () => {
    const html = explainTerms(page("<p>The FWHM is small. FWHM again.</p><p>FWHM</p>"), "../../");
    expect(html.match(/class="term"/g)).toHaveLength(1);
    expect(html).toContain(
      'The <a class="term" href="../../glossary/index.html#term-fwhm" title="Full width',
    );
    expect(html).toContain("<title>FWHM</title>");
  });

  it.each([
    "<a href='#x'>FWHM</a>",
    "<summary>FWHM</summary>",
    "<h2>FWHM</h2>",
    "<svg><g><text>FWHM</text></g><path/></svg>",
    "<details><p>FWHM</p><details>FWHM</details>FWHM</details>",
    "<button>FWHM</button>",
    "<code>FWHM</code>",
    '<img alt="the FWHM">',
    "<!-- the FWHM -->",
    "the xFWHM and FWHM-like",
  ])("leaves the word alone in %s", (inside) => {
    expect(explainTerms(page(inside), "")).toBe(page(inside));
  });

  it("links behind what it leaves alone", () => {
    const html = explainTerms(page("<details>FWHM</details><p>FWHM</p>"), "");
    expect(html).toContain('<details>FWHM</details><p><a class="term"');
  });

  it("takes the longer term, a plural, a capital and other ways of writing", () => {
    const html = explainTerms(page("<p>Focus sweeps, long axes, Full width at half\u00a0maximum</p>"), "");
    expect([...html.matchAll(/#term-([a-z-]+)"/g)].map(([, id]) => id)).toEqual([
      "focus-sweep",
      "long-axis",
      "fwhm",
    ]);
  });

  it("lists the terms used, in the order of the alphabet, where the page has a place for them", () => {
    const html = explainTerms(page(`<p>Seeing, then ellipticity.</p><dl>${termsPlace}</dl>`), "../../");
    expect(html).toContain('href="#term-seeing"');
    expect([...html.matchAll(/<dt id="term-([a-z-]+)"/g)].map(([, id]) => id)).toEqual([
      "ellipticity",
      "seeing",
    ]);
    expect(html).toContain('<a href="../../methods/index.html#shape">');
    expect(html).not.toContain(termsPlace);
  });

  it("leaves a page without main text as it is", () => {
    expect(explainTerms("<p>FWHM</p>", "")).toBe("<p>FWHM</p>");
    expect(explainTerms(page("<p>FWHM < 3 and <"), "")).toContain("< 3 and <");
  });
});

describe("the glossary", () => {
  it("has each term once, with a meaning that is one sentence", () => {
    expect(new Set(glossary.map(({ id }) => id)).size).toBe(glossary.length);
    for (const { meaning, measured } of glossary) {
      expect(meaning).toMatch(/^[A-Z].*\.$/);
      if (measured !== undefined) expect(measured).toMatch(/^[A-Z].*\.$/);
    }
  });

  it("leads to sections that the methods page has", () => {
    const methods = readFileSync(join(import.meta.dirname, "../../../templates/pages/methods.njk"), "utf8");
    for (const { more } of glossary) if (more !== undefined) expect(methods).toContain(`id="${more}"`);
  });

  it("escapes what it prints", () => {
    expect(writeTerm({ id: "a", word: "<b>", meaning: "A & b." }, "m")).toContain(
      "&lt;b&gt;</dt><dd>A &amp; b.",
    );
  });
});
