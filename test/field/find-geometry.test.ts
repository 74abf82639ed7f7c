import { describe, expect, it } from "vitest";
import { findGeometry, isFault } from "../../lib/field/find-geometry.ts";
import { computeHalfDiagonalMm, locateOnSensor } from "../../lib/field/geometry.ts";
import { sampleNativeTrain } from "../fixtures/sample-trains.ts";

const { camera } = sampleNativeTrain;
const frame = (
  widthPx: number,
  heightPx: number,
  binning: number | null = null,
  origin: { x: number; y: number } | null = null,
) => ({
  file: "a.fits",
  widthPx,
  heightPx,
  header: { binning, cropOriginPx: origin },
});

function expectGeometry(found: ReturnType<typeof findGeometry>) {
  if (isFault(found)) throw new Error(found.found);
  return found;
}

describe("a frame's place on the sensor", () => {
  it("is the whole sensor at the camera's own size, and binned 2 x 2 by the header", () => {
    expect(expectGeometry(findGeometry(frame(6248, 4176), camera))).toMatchObject({
      binning: 1,
      warnings: [],
    });
    const binned = expectGeometry(findGeometry(frame(3124, 2088, 2), camera));
    expect(binned.binning).toBe(2);
    expect(binned.geometry.umPerPx).toBeCloseTo(7.52, 12);
    expect(binned.warnings).toEqual([]);
  });

  it("is guessed as binned from half the size where the header is silent, with a warning", () => {
    expect(expectGeometry(findGeometry(frame(3124, 2088), camera)).warnings).toHaveLength(1);
  });

  it("keeps field radii of the whole sensor for a part read out at (100, 50) from the lower left", () => {
    const { geometry } = expectGeometry(findGeometry(frame(1000, 800, 1, { x: 100, y: 50 }), camera));
    expect(computeHalfDiagonalMm(geometry)).toBeCloseTo(14.128, 3);
    // The part's lower left pixel is pixel (100, 50) of the sensor, counted from its lower left.
    const corner = locateOnSensor(geometry, 0, 799);
    expect(corner.x).toBeCloseTo((100 + 0.5 - 3124) * 0.00376, 9);
    expect(corner.y).toBeCloseTo((50 + 0.5 - 2088) * 0.00376, 9);
  });

  it("warns of pixels of 2.4 um in the header where the record has 3.76 um, and takes 7.52 um for the same binned 2 x 2", () => {
    const withPitch = (one: ReturnType<typeof frame>, pixelPitchUm: number) => ({
      ...one,
      header: { ...one.header, pixelPitchUm },
    });
    const other = expectGeometry(findGeometry(withPitch(frame(6248, 4176), 2.4), camera));
    expect(other.warnings.join(" ")).toMatch(/2\.4 um \(XPIXSZ\).*3\.76 um.*another camera/);
    for (const pitch of [3.76, 7.52]) {
      expect(expectGeometry(findGeometry(withPitch(frame(3124, 2088, 2), pitch), camera)).warnings).toEqual(
        [],
      );
    }
  });

  it("takes a frame trimmed by less than 2 % as central and says so", () => {
    const found = expectGeometry(findGeometry(frame(6224, 4168), camera));
    expect(found.geometry.offsetMm).toEqual({ x: 0, y: 0 });
    expect(found.warnings[0]).toContain("6224 x 4168 px");
  });

  it("is refused for another camera's size, a part without a place, and a frame turned by a quarter", () => {
    for (const other of [frame(5496, 3672), frame(1000, 800), frame(1000, 800, 1, { x: 6000, y: 0 })]) {
      expect(isFault(findGeometry(other, camera))).toBe(true);
    }
    const turned = findGeometry(frame(4176, 6248), camera);
    expect(isFault(turned) && turned.found).toContain("turned by a quarter");
  });
});
