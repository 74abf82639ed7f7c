import { describe, expect, it } from "vitest";
import { makePageStyle } from "../../lib/site/page-style.ts";
import { listFontFiles, readStylesheet } from "../../lib/site/template-files.ts";

describe("makePageStyle", () => {
  it("asks for each typeface once, where it is told to, and for nothing else", () => {
    const css = makePageStyle((name) => `../../assets/${name}`);
    const asked = [...css.matchAll(/url\(([^)]*)\)/g)].map(([, address]) => address);
    const fonts = listFontFiles().filter(({ name }) => name.endsWith(".woff2"));
    expect(asked.sort()).toEqual(fonts.map(({ name }) => `"../../assets/${name}"`).sort());
  });

  it("keeps every class of the sources and drops a fifth and more of their bytes", () => {
    const source = readStylesheet();
    const css = makePageStyle((name) => name);
    const listClasses = (text: string) =>
      new Set(
        [...text.replace(/\/\*[\s\S]*?\*\/|url\([^)]*\)|\d\.\d/g, "").matchAll(/\.([a-z][\w-]*)/g)].map(
          ([, name]) => name,
        ),
      );
    expect(listClasses(css)).toEqual(listClasses(source));
    expect(css.length).toBeLessThan(0.8 * source.length);
  });
});
