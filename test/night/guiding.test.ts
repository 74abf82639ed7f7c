import { describe, expect, it } from "vitest";
import { makeUnknown } from "../../lib/maths/quantity.ts";
import { boundPolarError } from "../../lib/night/drift.ts";
import { measureGuiding } from "../../lib/night/guiding.ts";
import { makeGuidingLog } from "./make-log.ts";

const truth = { samples: 600, stepS: 2, raArcsec: 0.5, decArcsec: 0.3, seed: 11 };

describe("guiding error within exposures of 60 s", () => {
  it("is 0.500 and 0.300 arcsec where the log was drawn so, in 92 to 98 % of 400 logs' intervals (seeds 1 to 400)", () => {
    let [ra, dec, total] = [0, 0, 0];
    let sum = 0;
    for (let seed = 1; seed <= 400; seed++) {
      const { rms } = measureGuiding(makeGuidingLog({ ...truth, seed }), 60);
      if (rms.ra.value === null || rms.dec.value === null || rms.total.value === null)
        throw new Error("unknown");
      sum += rms.ra.value / 400;
      ra += rms.ra.lo <= 0.5 && rms.ra.hi >= 0.5 ? 1 : 0;
      dec += rms.dec.lo <= 0.3 && rms.dec.hi >= 0.3 ? 1 : 0;
      total += rms.total.lo <= Math.hypot(0.5, 0.3) && rms.total.hi >= Math.hypot(0.5, 0.3) ? 1 : 0;
    }
    expect(sum).toBeCloseTo(0.5, 2);
    for (const held of [ra, dec, total]) {
      expect(held).toBeGreaterThanOrEqual(368);
      expect(held).toBeLessThanOrEqual(392);
    }
  });

  it("is the same log's plain variance within each minute, summed by hand", () => {
    const log = makeGuidingLog(truth);
    const { rms, spans } = measureGuiding(log, 60);
    let squares = 0;
    for (let window = 0; window < 20; window++) {
      const own = Array.from(log.columns["ra_arcsec"].subarray(30 * window, 30 * window + 30));
      const middle = own.reduce((sum, value) => sum + value, 0) / 30;
      const variance = own.reduce((sum, value) => sum + (value - middle) ** 2, 0) / 29;
      squares += variance / 20;
      expect(spans[window].raArcsec).toBeCloseTo(Math.sqrt(variance), 12);
    }
    expect(rms.ra.value).toBeCloseTo(Math.sqrt(squares), 12);
  });

  it("does not change with a constant offset or a drift between exposures, and scales with the error", () => {
    const plain = measureGuiding(makeGuidingLog(truth), 60).rms;
    const log = makeGuidingLog(truth);
    const moved = {
      ...log,
      columns: {
        ra_arcsec: log.columns["ra_arcsec"].map((value, k) => 3 * (value + 7 + Math.floor(k / 30))),
        dec_arcsec: log.columns["dec_arcsec"].map((value) => 3 * (value - 2)),
      },
    };
    const other = measureGuiding(moved, 60).rms;
    for (const axis of ["ra", "dec", "total"] as const) {
      expect(other[axis].value).toBeCloseTo(3 * (plain[axis].value ?? Number.NaN), 10);
    }
  });

  it("leaves four dithers of 8 arcsec out and says how many samples that took", () => {
    const log = makeGuidingLog(truth);
    const knocked = { ...log, columns: { ...log.columns, ra_arcsec: log.columns["ra_arcsec"].slice() } };
    for (const at of [100, 101, 350, 500]) knocked.columns.ra_arcsec[at] += 8;
    const plain = measureGuiding(log, 60);
    const held = measureGuiding(knocked, 60);
    expect(plain.excursions.value).toBe(0);
    expect(held.excursions.value).toBeCloseTo(400 / 600, 10);
    expect(held.rms.ra.value).toBeCloseTo(plain.rms.ra.value ?? Number.NaN, 2);
  });

  it("cannot be told from 12 samples", () => {
    expect(measureGuiding(makeGuidingLog({ ...truth, samples: 12 }), 60).rms.ra).toEqual(
      makeUnknown("arcsec", "The log has too few samples: 12, at least 30 wanted."),
    );
  });
});

describe("a long log", () => {
  it("of 200,000 samples in exposures of 1 s is told in at most 240 spans, which hold the whole night's RMS", () => {
    const log = makeGuidingLog({ ...truth, samples: 200_000, stepS: 0.1 });
    const { rms, spans } = measureGuiding(log, 1);
    expect(spans.length).toBeLessThanOrEqual(240);
    const square = spans.reduce((sum, { raArcsec }) => sum + raArcsec ** 2, 0) / spans.length;
    expect(Math.sqrt(square)).toBeCloseTo(rms.ra.value ?? Number.NaN, 3);
  });
});

describe("drift in declination", () => {
  it("of 2.6252 arcsec/min asks for a polar axis at least 10 arcmin off (exact rotation, 6 h from the error)", () => {
    const drift = { value: 2.6251, unit: "arcsec/min" as const, lo: 2.6, hi: 2.65, n: 20 };
    const error = boundPolarError(drift);
    expect(error.value).toBeCloseTo(10, 2);
    expect(error).toMatchObject({ unit: "arcmin" });
  });

  it("of 0.80 arcsec/min is found in a log that holds it, within its interval, in 92 to 98 % of 200 logs (seeds 1 to 200)", () => {
    let held = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const { drift } = measureGuiding(makeGuidingLog({ ...truth, driftArcsecPerMin: 0.8, seed }), 60);
      if (drift.value !== null && drift.lo <= 0.8 && drift.hi >= 0.8) held++;
    }
    expect(held).toBeGreaterThanOrEqual(184);
    expect(held).toBeLessThanOrEqual(197);
  });

  it("is not claimed where a guider holds the star: 19 of 20 logs without drift say so (seeds 1 to 200)", () => {
    let claimed = 0;
    for (let seed = 1; seed <= 200; seed++) {
      if (measureGuiding(makeGuidingLog({ ...truth, seed }), 60).drift.value !== null) claimed++;
    }
    expect(claimed).toBeLessThanOrEqual(18);
  });
});
