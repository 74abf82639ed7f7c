import { describe, expect, it } from "vitest";
import { drawElement, drawText, escapeText, formatCoordinate } from "../../lib/draw/svg.ts";

describe("escapeText(text)", () => {
  it("leaves no character that could end an attribute, a text or an element", () => {
    expect(escapeText(`</svg><script>"'&`)).toBe("&lt;/svg&gt;&lt;script&gt;&quot;&#39;&amp;");
  });

  it("takes out control characters, marks that reorder text and lone surrogates", () => {
    expect(escapeText("a\u0000b\u202ec\ud800d\u{1f52d}")).toBe("a b c\ufffdd\u{1f52d}");
  });
});

describe("formatCoordinate(value)", () => {
  it("rounds to 0.01 and knows no negative zero", () => {
    expect([1 / 3, -0.001, 12, 1e-9].map(formatCoordinate)).toEqual(["0.33", "0", "12", "0"]);
  });

  it("refuses NaN and infinity, which no picture can hold", () => {
    expect(() => formatCoordinate(Number.NaN)).toThrow(RangeError);
    expect(() => formatCoordinate(Number.POSITIVE_INFINITY)).toThrow(RangeError);
  });
});

describe("drawElement(name, attributes, content)", () => {
  it("escapes attributes and leaves out those that are undefined", () => {
    expect(drawElement("a", { href: `x" onload="y`, dash: undefined })).toBe(
      '<a href="x&quot; onload=&quot;y"/>',
    );
    expect(drawText(1, 2, "<b>")).toBe('<text x="1" y="2">&lt;b&gt;</text>');
  });
});
