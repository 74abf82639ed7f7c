import { describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import type { TestEntry, TrainEntry } from "../../lib/records/types.ts";
import { readTable } from "../../lib/report/star-source.ts";
import { sampleReducedTrain } from "../fixtures/sample-trains.ts";

const train = { record: sampleReducedTrain } as TrainEntry;

function makeEntry(starTableText: string): TestEntry {
  return {
    id: "2026-10-03",
    dir: "",
    record: {
      starTable: { file: "stars.csv", columns: { x: "X", y: "Y", fwhm: "W" }, units: {} },
    } as unknown as TestEntry["record"],
    source: { file: "trains/tarn/tests/2026-10-03/test.yaml", text: "" } as TestEntry["source"],
    starTableText,
  };
}

describe("readTable", () => {
  it("reads a table of two stars", () => {
    const read = readTable(train, makeEntry("X,Y,W\n100,100,3\n200,300,3.1\n"), 1.22);
    expect([...(read?.tables.keys() ?? [])]).toEqual(["L"]);
  });

  it("names the train's folder where a cell of its table is no number", () => {
    let fault: unknown = null;
    try {
      readTable(train, makeEntry("X,Y,W\n100,100,wide\n"), 1.22);
    } catch (error) {
      fault = error;
    }
    expect(fault).toBeInstanceOf(ReportError);
    expect((fault as ReportError).faults[0]).toMatchObject({
      file: "trains/tarn/tests/2026-10-03/stars.csv",
      line: 2,
    });
  });
});
