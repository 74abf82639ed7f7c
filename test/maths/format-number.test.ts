import { describe, expect, it } from "vitest";
import {
  countDecimals,
  formatFixed,
  formatPlusMinus,
  formatQuantityText,
  formatUnit,
  formatValue,
} from "../../lib/maths/format-number.ts";
import { makeExact, makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";

describe("formatValue", () => {
  it("rounds to two significant digits of the half-width: 2.51 for 2.5132 in 2.43..2.60", () => {
    expect(formatValue(2.5132, 2.4312, 2.5988)).toBe("2.513");
    expect(formatValue(2.5132, 2.3, 2.7)).toBe("2.51");
    expect(formatValue(2513.2, 2300, 2700)).toBe("2513");
    expect(formatValue(0.012345, 0.0121, 0.0126)).toBe("0.01235");
  });

  it("gives exact numbers four significant digits without trailing zeros, and all digits before the point", () => {
    expect(formatValue(805)).toBe("805");
    expect(formatValue(1.21952303)).toBe("1.22");
    expect(formatValue(0.6816084)).toBe("0.6816");
    expect(formatValue(206264.8)).toBe("206265");
    expect(formatValue(0)).toBe("0");
  });

  it("has a true minus sign and no minus zero", () => {
    expect(formatValue(-0.68161)).toBe("−0.6816");
    expect(formatFixed(-0.001, 2)).toBe("0.00");
  });

  it("never asks for more than nine decimals, whatever the interval", () => {
    expect(countDecimals(1, 1 - 1e-15, 1 + 1e-15)).toBe(9);
    expect(countDecimals(1, 1, Number.POSITIVE_INFINITY)).toBe(3);
  });
});

describe("formatPlusMinus and formatQuantityText", () => {
  it("gives one half-width where both sides are alike, two where they differ by more than a quarter", () => {
    expect(formatPlusMinus(2.5, 2.4, 2.61)).toBe("± 0.10");
    expect(formatPlusMinus(2.5, 2.45, 2.7)).toBe("+ 0.20 − 0.05");
    expect(formatPlusMinus(2.5, 2.5, 2.5)).toBe("");
  });

  it("writes value, interval and unit together", () => {
    expect(formatQuantityText(makeMeasured(2.5, "px", 2.4, 2.6, 30))).toBe("(2.50\u00a0± 0.10)\u00a0px");
    expect(formatQuantityText(makeExact(2.1163, "deg"))).toBe("2.116°");
    expect(formatQuantityText(makeExact(5.53, "ratio"))).toBe("5.53");
    expect(formatQuantityText(makeUnknown("px", "No night."))).toBe("not known");
    expect(formatUnit("arcsec/px")).toBe("″/px");
    expect(formatUnit("constructor")).toBe("constructor");
  });
});
