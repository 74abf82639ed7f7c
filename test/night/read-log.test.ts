import { describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import { readGuidingLog, readWindLog } from "../../lib/night/read-log.ts";

function listFaults(run: () => unknown): string[] {
  try {
    run();
  } catch (error) {
    if (error instanceof ReportError)
      return error.faults.map(({ line, key, found }) => `${line ?? ""} ${key} ${found}`.trim());
    throw error;
  }
  return [];
}

describe("a guider's log", () => {
  it("gives times and both axes in order, and counts rows where the guide star was lost", () => {
    const log = readGuidingLog(
      "# guider\ntime_s,ra_arcsec,dec_arcsec,note\n0,0.1,-0.2,a\n2,,0.3,lost\n4,nan,0.1,lost\n6,-0.4,0.5,b\n",
      "guiding.csv",
    );
    expect(Array.from(log.timeS)).toEqual([0, 6]);
    expect(Array.from(log.columns["ra_arcsec"])).toEqual([0.1, -0.4]);
    expect(Array.from(log.columns["dec_arcsec"])).toEqual([-0.2, 0.5]);
    expect(log.skipped).toBe(2);
  });

  it("names every bad cell with its line, at most 20 of them", () => {
    const rows = Array.from({ length: 60 }, (_, k) => `${k},x${k},4000`).join("\n");
    const faults = listFaults(() => readGuidingLog(`time_s,ra_arcsec,dec_arcsec\n${rows}\n`, "g.csv"));
    expect(faults).toHaveLength(20);
    expect(faults.slice(0, 2)).toEqual(['2 ra_arcsec "x0"', '2 dec_arcsec "4000"']);
  });

  it.each([
    ["no columns of these names", "t,x,y\n1,2,3\n", "guiding.file no column time_s, ra_arcsec, dec_arcsec"],
    ["no rows", "time_s,ra_arcsec,dec_arcsec\n", "guiding.file no row"],
    [
      "times that fall",
      "time_s,ra_arcsec,dec_arcsec\n5,0,0\n4,0,0\n",
      "guiding.file time_s falls from 5 to 4",
    ],
    [
      "a prototype's name for a column",
      "__proto__,ra_arcsec,dec_arcsec\n1,2,3\n",
      "guiding.file no column time_s",
    ],
  ])("is refused with %s, and says so", (_, text, told) => {
    expect(listFaults(() => readGuidingLog(text, "g.csv"))).toEqual([told]);
  });

  it("is refused where a row has too few cells, without its text", () => {
    const [told] = listFaults(() => readGuidingLog("time_s,ra_arcsec,dec_arcsec\n1,<b>\n", "g.csv"));
    expect(told).toMatch(/^guiding\.file Invalid Record Length/);
    expect(told).not.toContain("<b>");
  });
});

describe("the wind's log", () => {
  it("takes speeds from 0 to 100 m/s", () => {
    expect(readWindLog("time_s,speed_m_s\n0,3.5\n", "w.csv").columns["speed_m_s"][0]).toBe(3.5);
    expect(listFaults(() => readWindLog("time_s,speed_m_s\n0,-1\n", "w.csv"))).toEqual(['2 speed_m_s "-1"']);
  });
});
