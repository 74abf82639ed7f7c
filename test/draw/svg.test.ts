import { describe, expect, it } from "vitest";
import { drawElement, drawText, escapeText, formatCoordinate, tracePath } from "../../lib/draw/svg.ts";
import { readSteps } from "./read-steps.ts";

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

describe("tracePath(points)", () => {
  const points = Array.from({ length: 200 }, (_, k): [number, number] => [
    240 + 200 * Math.sin(k),
    170 + 160 * Math.cos(1.7 * k) - (k % 3 === 0 ? 0.04 : 0),
  ]);

  it("keeps every one of 200 points within 0.05 units, however many steps come before it", () => {
    const far = readSteps(tracePath(points)).map(([x, y], k) =>
      Math.max(Math.abs(x - points[k][0]), Math.abs(y - points[k][1])),
    );
    expect(far).toHaveLength(200);
    expect(Math.max(...far)).toBeLessThan(0.0501);
  });

  it("writes 12.34, -5 and 0.5 as steps of tenths, closes a run, and refuses what is not finite", () => {
    expect(
      tracePath(
        [
          [12.34, -5],
          [12.84, -5],
          [0, 1],
        ],
        true,
      ),
    ).toBe("m12.3-5l.5 0-12.8 6Z");
    expect(() => tracePath([[Number.NaN, 0]])).toThrow(RangeError);
  });
});
