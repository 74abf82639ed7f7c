import { describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import { importStarTable } from "../../lib/stars/import-table.ts";
import { listUsableStars } from "../../lib/stars/star-table.ts";

const scale = { geometry: { widthPx: 1000, heightPx: 600, umPerPx: 4 }, arcsecPerPx: 2 };
const record = (columns: Record<string, string>, units: Record<string, string> = {}) => ({
  file: "stars.csv",
  columns,
  units,
});

function listFaults(run: () => unknown): string[] {
  try {
    run();
  } catch (error) {
    if (error instanceof ReportError)
      return error.faults.map(({ found, line }) => `${line ?? ""} ${found}`.trim());
    throw error;
  }
  return [];
}

describe("a star table made elsewhere", () => {
  it("counts pixels as FITS does: (1, 1) is the lower left pixel of the displayed frame", () => {
    const { stars } = importStarTable(
      "X,Y,W\n1,1,3\n1000,600,3\n",
      record({ x: "X", y: "Y", fwhm: "W" }),
      scale,
    );
    expect([stars.xPx[0], stars.yPx[0]]).toEqual([0, 599]);
    expect([stars.xPx[1], stars.yPx[1]]).toEqual([999, 0]);
  });

  it("takes millimetres from the sensor's centre, y upwards", () => {
    const { stars } = importStarTable(
      "X,Y,W\n0,0,3\n0.4,0.4,3\n",
      record({ x: "X", y: "Y", fwhm: "W" }, { x: "mm", y: "mm" }),
      scale,
    );
    expect([stars.xPx[0], stars.yPx[0]]).toEqual([499.5, 299.5]);
    expect(stars.xPx[1]).toBeCloseTo(599.5, 9);
    expect(stars.yPx[1]).toBeCloseTo(199.5, 9);
  });

  it("turns um and arcsec into px and radians into degrees", () => {
    const columns = { x: "X", y: "Y", fwhmMajor: "A", fwhmMinor: "B", angle: "T" };
    const units = { fwhmMajor: "um", fwhmMinor: "arcsec", angle: "rad" };
    const { stars } = importStarTable("X,Y,A,B,T\n5,5,16,6,0.5\n", record(columns, units), scale);
    expect(stars.fwhmMajorPx[0]).toBeCloseTo(4, 9);
    expect(stars.fwhmMinorPx[0]).toBeCloseTo(3, 9);
    expect(stars.angleDeg[0]).toBeCloseTo(28.6479, 4);
  });

  it("takes width with ellipticity and angle, and width alone", () => {
    const columns = { x: "X", y: "Y", fwhm: "W", ellipticity: "E", angle: "T" };
    const { stars } = importStarTable("X,Y,W,E,T\n5,5,3,0.19,45\n", record(columns), scale);
    expect(1 - stars.fwhmMinorPx[0] / stars.fwhmMajorPx[0]).toBeCloseTo(0.19, 9);
    expect(Math.sqrt(stars.fwhmMinorPx[0] * stars.fwhmMajorPx[0])).toBeCloseTo(3, 9);
    const plain = importStarTable("X,Y,W\n5,5,3\n", record({ x: "X", y: "Y", fwhm: "W" }), scale).stars;
    expect([plain.fwhmMajorPx[0], plain.fwhmMinorPx[0]]).toEqual([3, 3]);
    expect(plain.e1[0]).toBeNaN();
  });

  it("keeps rows without a width or off the sensor, flagged, and says how many", () => {
    const { stars, warnings } = importStarTable(
      "X,Y,W\n5,5,3\n5,5,\n5000,5,3\n5,5,-1\n",
      record({ x: "X", y: "Y", fwhm: "W" }),
      scale,
    );
    expect(stars.flags).toHaveLength(4);
    expect(listUsableStars(stars)).toEqual([0]);
    expect(warnings.join(" ")).toContain("3 of 4 rows");
  });

  it("names each column that is missing and each cell that is no number, by line", () => {
    const columns = { x: "X", y: "Y", fwhm: "Width" };
    expect(listFaults(() => importStarTable("X,Y,W\n1,2,3\n", record(columns), scale))).toEqual([
      'no column "Width"',
    ]);
    const text = "X,Y,Width\n1,2,3\n1,two,3\n1,2,=cmd()\n";
    expect(listFaults(() => importStarTable(text, record(columns), scale))).toEqual([
      '3 "two"',
      '4 "=cmd()"',
    ]);
  });

  it("refuses ragged rows, an empty table and one with no star on the sensor", () => {
    const columns = record({ x: "X", y: "Y", fwhm: "W" });
    expect(listFaults(() => importStarTable("X,Y,W\n1,2\n", columns, scale))).toHaveLength(1);
    expect(listFaults(() => importStarTable("X,Y,W\n", columns, scale))).toEqual([
      "no row below the headings",
    ]);
    expect(listFaults(() => importStarTable("X,Y,W\n-9,2,3\n", columns, scale))).toHaveLength(1);
  });
});
