import { describe, expect, it } from "vitest";
import { makeExact, makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import {
  formatDate,
  formatFocalRatio,
  formatInterval,
  formatQuantity,
} from "../../lib/site/format-number.ts";

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

  it("prints a ratio known to 1 ppm to five decimals, with the ends of its interval rounded outwards", () => {
    const ratio = makeMeasured(0.7900002, "ratio", 0.7899991, 0.7900013, 1855);
    expect(formatQuantity(ratio)).toBe("0.79000");
    expect(formatInterval(ratio)).toBe("0.78999 to 0.79001");
    expect(formatInterval(makeMeasured(635.95, "mm", 635.9491, 635.9509, 1855))).toBe("635.949 to 635.951");
  });

  it("prints an exact share of 0.4762 % as 0.5 % and 2.076 px as 2.08 px", () => {
    expect(formatQuantity(makeExact(0.4762, "percent"))).toBe("0.5\u00a0%");
    expect(formatQuantity(makeExact(2.076, "px"))).toBe("2.08\u00a0px");
  });

  it("never prints a negative zero", () => {
    expect(formatQuantity(makeMeasured(-0.0001, "ratio", -0.05, 0.05, 9), { sign: true })).toBe("0.00");
  });

  it("says that an unknown is not known", () => {
    expect(formatQuantity(makeUnknown("um", "Too few stars."))).toBe("not known");
  });
});

describe("formatFocalRatio", () => {
  it("gives three figures: 4.803279 is f/4.8, 5.53 is f/5.53, 7 is f/7, 10.05 is f/10.1", () => {
    expect([4.803279, 5.53, 7, 10.051].map(formatFocalRatio)).toEqual(["f/4.8", "f/5.53", "f/7", "f/10.1"]);
  });
});

describe("formatDate", () => {
  it("spells an ISO date out and leaves other text as it is", () => {
    expect(formatDate("2026-10-03")).toBe("3 October 2026");
    expect(formatDate("2026-13-03")).toBe("2026-13-03");
  });
});
