import { describe, expect, it } from "vitest";
import {
  type BayerPattern,
  convertHeaderPattern,
  findPattern,
  makePlanes,
  makeSitePlanes,
} from "../../lib/frames/cfa.ts";

const patterns: BayerPattern[] = ["RGGB", "BGGR", "GRBG", "GBRG"];

/** Slow twin: paints the colours of every stored site, turns the rows over and reads the upper-left block. */
function paintPattern(
  pattern: BayerPattern,
  x: number,
  y: number,
  heightPx: number,
  fromBottom: boolean,
): string {
  const rows = Array.from({ length: heightPx }, (_, row) =>
    Array.from({ length: 4 }, (_, column) => pattern[((column + x) % 2) + 2 * ((row + y) % 2)]).join(""),
  );
  if (fromBottom) rows.reverse();
  return rows[0].slice(0, 2) + rows[1].slice(0, 2);
}

describe("convertHeaderPattern", () => {
  it("turns RGGB into GBRG for an even height stored from the bottom, and keeps it for an odd one", () => {
    expect(convertHeaderPattern("RGGB", 0, 0, 4176, true)).toBe("GBRG");
    expect(convertHeaderPattern("RGGB", 0, 0, 4175, true)).toBe("RGGB");
    expect(convertHeaderPattern("RGGB", 0, 0, 4176, false)).toBe("RGGB");
  });

  it("agrees with a painted mosaic for every pattern, offset of 0 and 1, odd and even height, and row order", () => {
    for (const pattern of patterns) {
      for (const x of [0, 1]) {
        for (const y of [0, 1]) {
          for (const heightPx of [6, 7]) {
            for (const fromBottom of [true, false]) {
              expect(convertHeaderPattern(pattern, x, y, heightPx, fromBottom)).toBe(
                paintPattern(pattern, x, y, heightPx, fromBottom),
              );
            }
          }
        }
      }
    }
  });

  it("takes an offset of -1 as one of 1", () => {
    expect(convertHeaderPattern("RGGB", -1, 0, 7, false)).toBe("GRBG");
  });
});

describe("makeSitePlanes", () => {
  it("puts each site of the 2 x 2 block into one plane alone, two of them into green", () => {
    for (const pattern of patterns) {
      const planes = makeSitePlanes(new Uint16Array(4), pattern);
      const taken = [0, 1, 2, 3].map((site) =>
        planes.filter(({ sites }) => sites[site]).map(({ channel }) => channel),
      );
      expect(taken).toEqual([...pattern].map((letter) => [letter]));
      expect(planes[1].sites.filter(Boolean)).toHaveLength(2);
    }
  });
});

describe("makePlanes", () => {
  const samples = [new Uint16Array(4)];

  it("lets the record's pattern win and names both in the warning", () => {
    const { planes, warnings } = makePlanes(samples, "RGGB", "BGGR", 4);
    expect(planes[0]).toMatchObject({ channel: "R", sites: [true, false, false, false] });
    expect(warnings).toHaveLength(1);
    expect(warnings[0]).toContain("RGGB");
    expect(warnings[0]).toContain("BGGR");
    expect(makePlanes(samples, "none", "BGGR", 4).planes[0].channel).toBe("L");
    expect(makePlanes(samples, "none", "BGGR", 4).warnings).toHaveLength(1);
  });

  it("takes the header's pattern where the record is silent, and L where both are", () => {
    expect(makePlanes(samples, undefined, "BGGR", 4).planes[2].sites).toEqual([true, false, false, false]);
    expect(makePlanes(samples, undefined, null, 4).planes.map(({ channel }) => channel)).toEqual(["L"]);
    expect(makePlanes(samples, "RGGB", "RGGB", 4).warnings).toEqual([]);
  });
});

describe("findPattern", () => {
  it("takes the four patterns in any case and nothing else", () => {
    expect(findPattern(" rggb ")).toBe("RGGB");
    for (const text of ["RGBG", "", "RGGBX", "true", "__proto__"]) expect(findPattern(text)).toBeNull();
  });
});
