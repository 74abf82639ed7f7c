import { describe, expect, it } from "vitest";
import {
  type CropSheet,
  countCell,
  defineSheet,
  drawCropWindow,
  measureSheet,
} from "../../lib/draw/crop-sheet.ts";

const sheet: CropSheet = { href: "tests/2026-10-03/cut-outs.png", cellPx: 21, cells: 4, missing: new Set() };

describe("measureSheet", () => {
  it("gives cells of the largest side: 17, 21 and 19 px make three cells of 21 px", () => {
    const crops = [17, 21, 19].map((sidePx) => ({ sidePx }));
    expect(measureSheet(crops)).toEqual({ cellPx: 21, cells: 3 });
  });

  it("makes none of no cut-outs, of sides that are no whole numbers of pixels, and of 2 x 1500 x 1500 px", () => {
    const sides = [[], [21, 20.5], [21, 0], [Number.NaN], [1500, 1500]];
    for (const list of sides) expect(measureSheet(list.map((sidePx) => ({ sidePx })))).toBeNull();
  });
});

describe("a sheet's picture and its windows", () => {
  const frame = { x: 10, y: 20, width: 43, height: 43 };

  it("stand once in the drawing, 21 px wide and 84 px high for four cells of 21 px", () => {
    expect(defineSheet("s", sheet)).toBe(
      '<defs><image id="s" href="tests/2026-10-03/cut-outs.png" width="21" height="84" preserveAspectRatio="none" style="image-rendering:pixelated"/></defs>',
    );
  });

  it("show the middle 7 px of a cut-out of 19 px in the third cell: from 6 px, and 48 px below the sheet's top", () => {
    expect(drawCropWindow("s", sheet, { index: 2, sidePx: 19 }, 7, frame)).toBe(
      '<svg x="10" y="20" width="43" height="43" viewBox="6 48 7 7"><use href="#s"/></svg>',
    );
  });

  it("are counted from the top from 1", () => {
    expect([0, 2].map(countCell)).toEqual([1, 3]);
  });
});
