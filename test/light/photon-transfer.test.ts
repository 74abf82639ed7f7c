import { describe, expect, it } from "vitest";
import { transferPhotons } from "../../lib/light/photon-transfer.ts";

describe("photon transfer", () => {
  it("gives 1.316329 e-/ADU and 4.65393 e- for means 20000, 20010, 1000, 1001 and deviations 170 and 5 (computed with numpy)", () => {
    const found = transferPhotons(
      { sum: 20000 + 20010, variance: 170 ** 2 },
      { sum: 1000 + 1001, variance: 5 ** 2 },
    );
    expect(found.gainElectronsPerAdu).toBeCloseTo(1.316329, 6);
    expect(found.readNoiseElectrons).toBeCloseTo(4.65393, 5);
  });
});
