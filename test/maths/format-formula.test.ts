import { describe, expect, it } from "vitest";
import { formatFormula } from "../../lib/maths/formula.ts";

/** Without attributes: the structure is what matters here. */
function strip(mathml: string): string {
  return mathml.replace(/<(\/?)([a-z]+)[^>]*>/g, "<$1$2>").replaceAll("<mspace></mspace>", "");
}

describe("formatFormula", () => {
  it("sets Greek letters, powers and quotients: 2 lambda N^2, f / D", () => {
    expect(strip(formatFormula("2 * lambda * N ^ 2"))).toBe(
      "<math><mrow><mn>2</mn><mi>λ</mi><msup><mi>N</mi><mn>2</mn></msup></mrow></math>",
    );
    expect(strip(formatFormula("f / D"))).toBe("<math><mfrac><mi>f</mi><mi>D</mi></mfrac></math>");
  });

  it("sets subscripts from names: f_R, t_1, n_x", () => {
    expect(strip(formatFormula("1 - d / f_R"))).toContain("<msub><mi>f</mi><mrow><mi>R</mi></mrow></msub>");
    expect(strip(formatFormula("t_1 * (1 - 1 / n_1)"))).toContain("<msub><mi>t</mi><mn>1</mn></msub>");
  });

  it("sets units upright behind their number, in a working too", () => {
    const working = strip(formatFormula("206264.806 arcsec * (3.76 um/px) / (805 mm)"));
    expect(working).toContain("<mn>206264.806</mn><mtext>arcsec</mtext>");
    expect(working).toContain("<mn>3.76</mn><mtext>µm/px</mtext>");
    expect(working).toContain("<mn>805</mn><mtext>mm</mtext>");
    expect(working).not.toContain("(");
  });

  it("sets roots, functions and powers of ten", () => {
    expect(formatFormula("sqrt(a ^ 2 + b ^ 2)")).toContain("<msqrt>");
    expect(formatFormula("2 * atan(w / (2 * f))")).toContain("arctan");
    expect(strip(formatFormula("1e-7 * a"))).toContain("<msup><mn>10</mn>");
  });

  it("gives the same bytes every time, and no instance notices another formula", () => {
    const before = formatFormula("a / (b + c)");
    formatFormula("x ^ 2");
    expect(formatFormula("a / (b + c)")).toBe(before);
  });

  it("escapes what is no formula, and lets no mark-up, command or reference through", () => {
    const hostile = [
      "<img src=x onerror=alert(1)>",
      '"</math><script>alert(1)</script>',
      "\\href{javascript:alert(1)}{x}",
      "import({a: 1})",
      "f(x) = x ^ 2",
      "constructor.constructor",
      "a; b",
      "[1, 2]",
      "'text'",
      "",
      "a_<b>",
      "&lt;",
    ];
    for (const text of hostile) {
      const mathml = formatFormula(text);
      expect(mathml.startsWith("<math>")).toBe(true);
      expect(mathml).not.toMatch(/<(img|script|b|a)\b|\shref=|"<\/math>/);
    }
    expect(formatFormula("<b>")).toBe("<math><mtext>&lt;b&gt;</mtext></math>");
  });

  it("cuts endless text and survives endless parentheses", () => {
    expect(formatFormula("a + ".repeat(10_000)).length).toBeLessThan(800);
    expect(formatFormula(`${"(".repeat(290)}a${")".repeat(290)}`)).toContain("a");
  });
});
