import { describe, expect, it } from "vitest";
import { makeExact, makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { formatDate, formatInterval, formatQuantity } from "../../lib/site/format-number.ts";

describe("formatQuantity", () => {
  it("prints no more decimals than the interval bears: 2.3051 of 2.28 to 2.33 is 2.305", () => {
    const width = makeMeasured(2.3051, "arcsec", 2.2811, 2.3291, 210);
    expect(formatQuantity(width)).toBe("2.305″");
    expect(formatInterval(width)).toBe("2.281 to 2.329");
    expect(formatQuantity(makeMeasured(11.94, "um", 11.5, 12.3, 40))).toBe("11.9\u00a0µm");
  });

  it("prints an exact length to a thousandth of a millimetre, with a true minus sign", () => {
    expect(formatQuantity(makeExact(-0.681608, "mm"), { sign: true })).toBe("−0.682\u00a0mm");
    expect(formatQuantity(makeExact(0.0184, "mm"), { sign: true })).toBe("+0.018\u00a0mm");
    expect(formatInterval(makeExact(55, "mm"))).toBeNull();
  });

  it("never prints a negative zero", () => {
    expect(formatQuantity(makeMeasured(-0.0001, "ratio", -0.05, 0.05, 9), { sign: true })).toBe("0.00");
  });

  it("says that an unknown is not known", () => {
    expect(formatQuantity(makeUnknown("um", "Too few stars."))).toBe("not known");
  });
});

describe("formatDate", () => {
  it("spells an ISO date out and leaves other text as it is", () => {
    expect(formatDate("2026-10-03")).toBe("3 October 2026");
    expect(formatDate("2026-13-03")).toBe("2026-13-03");
  });
});
