import { describe, expect, it } from "vitest";
import { sumLengthMm, sumPrices, sumWeightG } from "../../lib/train/sum-equipment.ts";
import { sampleReducedTrain } from "../fixtures/sample-trains.ts";

const { telescope, corrector, stack, camera } = sampleReducedTrain;
const weighed = {
  ...sampleReducedTrain,
  telescope: { ...telescope, weightG: 6200, bodyLengthMm: 790, pricePaid: { amount: 2100, currency: "EUR" } },
  corrector: corrector === null ? null : { ...corrector, weightG: 340, bodyLengthMm: 0 },
  stack: stack.map((item) => ("part" in item ? { ...item, weightG: 90 } : item)),
  camera: { ...camera, weightG: 750, bodyLengthMm: 92, pricePaid: { amount: 900, currency: "GBP" } },
};

describe("sumWeightG", () => {
  it("adds 6200 + 340 + 2 x 90 + 750 g to 7470 g, spacers not counted", () => {
    expect(sumWeightG(weighed)).toEqual({ value: 7470, stated: 7470, unstated: [] });
  });

  it("gives no sum where one part states none, and names it", () => {
    const train = { ...weighed, camera };
    expect(sumWeightG(train)).toEqual({ value: null, stated: 6720, unstated: ["Heron 26"] });
  });

  it("does not change when the parts of the stack change places", () => {
    expect(sumWeightG({ ...weighed, stack: [...weighed.stack].reverse() })).toEqual(sumWeightG(weighed));
  });
});

describe("sumLengthMm", () => {
  it("adds 790 + 0 + (16.5 + 1.0 + 20) + 92 mm to 919.5 mm", () => {
    expect(sumLengthMm(weighed).value).toBeCloseTo(919.5, 9);
  });

  it("leaves the corrector out where there is none", () => {
    expect(sumLengthMm({ ...weighed, corrector: null }).value).toBeCloseTo(919.5, 9);
    expect(sumLengthMm(sampleReducedTrain).unstated).toEqual(["Tarnlight 115", "Tarnlight R79", "Heron 26"]);
  });
});

describe("sumPrices", () => {
  it("keeps currencies apart and names parts without a price in each", () => {
    const unstated = ["Tarnlight R79", "M54 ring", "filter drawer"];
    expect(sumPrices(weighed)).toEqual([
      {
        currency: "EUR",
        sum: { value: null, stated: 2100, unstated: [unstated[0], unstated[1], unstated[2]] },
      },
      { currency: "GBP", sum: { value: null, stated: 900, unstated } },
    ]);
  });
});
