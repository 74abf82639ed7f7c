import { describe, expect, it } from "vitest";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { makeNightResults, type NightRequest } from "../../lib/night/night-results.ts";
import type { NightLog } from "../../lib/night/read-log.ts";
import { correlateRanks } from "../../lib/night/wind.ts";
import { makeGuidingLog } from "./make-log.ts";

const guiding = makeGuidingLog({ samples: 600, stepS: 2, raArcsec: 0.6, decArcsec: 0.4, seed: 3 });
const request: NightRequest = {
  guiding,
  wind: null,
  exposureS: 60,
  centreFwhm: makeMeasured(2.8, "arcsec", 2.75, 2.85, 400),
  tracking: makeMeasured(0.07, "ratio", 0.06, 0.08, 400),
  seed: 1,
};

/** A wind that doubles every third minute, and a guiding error that follows it by `follow`. */
function makeWindyNight(follow: number): { guiding: NightLog; wind: NightLog } {
  const normal = makeNormalRandom(makeRandom(9));
  const samples = 900;
  const timeS = Float64Array.from({ length: samples }, (_, k) => 2 * k);
  const speed = timeS.map((time) => (Math.floor(time / 60) % 3 === 0 ? 6 : 2) + 0.3 * Math.abs(normal()));
  const error = () => speed.map((value) => 0.3 * (1 + follow * (value - 2)) * normal());
  return {
    guiding: { timeS, columns: { ra_arcsec: error(), dec_arcsec: error() }, skipped: 0 },
    wind: { timeS, columns: { speed_m_s: speed }, skipped: 0 },
  };
}

describe("the night's results", () => {
  it("give guiding's share of the blur by variance: 18 % for 0.6 and 0.4 arcsec under stars of 2.8 arcsec", () => {
    const night = makeNightResults(request);
    // (0.36 + 0.16) / 2 over (2.8 / 2.3548)^2 = 0.26 / 1.4139
    expect(night?.shareOfBlur.value).toBeGreaterThan(16.5);
    expect(night?.shareOfBlur.value).toBeLessThan(20.5);
    expect(night?.shareOfBlur).toMatchObject({ unit: "percent" });
  });

  it("give the ellipticity that the log alone makes: 0.07 in closed form, and say that the mount explains the frames", () => {
    const night = makeNightResults(request);
    // half the difference of the variances, 0.10, beside the star's 1.4139: 1 - sqrt(1.3139 / 1.5139)
    expect(night?.elongation.value).toBeCloseTo(1 - Math.sqrt(1.3139 / 1.5139), 1);
    expect(night?.sentence).toContain("the mount explains it");
  });

  it("say that something else draws the stars out where the log's axes are alike and the frames show 0.15", () => {
    const even = makeGuidingLog({ samples: 600, stepS: 2, raArcsec: 0.4, decArcsec: 0.4, seed: 5 });
    const tracking = makeMeasured(0.15, "ratio", 0.14, 0.16, 400);
    expect(makeNightResults({ ...request, guiding: even, tracking })?.sentence).toContain(
      "something that the guider does not see",
    );
  });

  it("refuse a share where the log tells of more blur than the stars show", () => {
    const wild = makeGuidingLog({ samples: 600, stepS: 2, raArcsec: 3, decArcsec: 3, seed: 3 });
    expect(makeNightResults({ ...request, guiding: wild })?.shareOfBlur).toMatchObject({ value: null });
  });

  it("take 60 s where the frames do not state their exposure, and say so", () => {
    const night = makeNightResults({ ...request, exposureS: null });
    expect(night?.exposureS).toBe(60);
    expect(night?.sentence).toContain("60 s, as the frames do not state their exposure");
  });

  it("are null without a log, and hold nothing that is not a number", () => {
    expect(makeNightResults({ ...request, guiding: null })).toBeNull();
    expect(JSON.stringify(makeNightResults(request))).not.toMatch(/NaN|Infinity/);
  });
});

describe("the wind", () => {
  it("is tied to the guiding error where that follows it, and not where it does not", () => {
    const tied = makeNightResults({ ...request, ...makeWindyNight(0.3) });
    expect(tied?.windLink.value).toBeGreaterThan(0.6);
    expect(tied?.sentence).toContain("the guiding error grew with it");
    const free = makeNightResults({ ...request, ...makeWindyNight(0) });
    expect(free?.windLink).toMatchObject({ unit: "ratio" });
    expect(free?.sentence).toContain("did not measurably grow");
  });

  it("has its mean and the speed that one sample in twenty exceeds", () => {
    const { wind } = makeWindyNight(0);
    const night = makeNightResults({ ...request, guiding: null, wind });
    const speeds = Array.from(wind.columns["speed_m_s"]);
    expect(night?.wind.value).toBeCloseTo(speeds.reduce((sum, value) => sum + value, 0) / speeds.length, 10);
    const above = speeds.filter((value) => value > (night?.gusts.value ?? 0)).length / speeds.length;
    expect(above).toBeCloseTo(0.05, 2);
  });

  it("correlates ranks as scipy 1.10.1 does (spearmanr of ten pairs with ties: 0.890)", () => {
    const speed = [3.1, 2.2, 5.0, 4.1, 2.2, 6.3, 7.7, 1.0, 4.1, 3.3];
    const error = [0.41, 0.35, 0.52, 0.61, 0.33, 0.58, 0.93, 0.4, 0.44, 0.47];
    expect(correlateRanks(speed, error)).toBeCloseTo(0.890260452645892, 12);
  });
});
