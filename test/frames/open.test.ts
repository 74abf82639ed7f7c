import { createHash } from "node:crypto";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { type OpenFrameOptions, openFrame } from "../../lib/frames/open.ts";
import {
  fillBlocks,
  gzip,
  makeFloats,
  makeHeader,
  makeShorts,
  makeUnsignedFits,
  mandatoryCards,
} from "./fits-bytes.ts";

const folder = mkdtempSync(join(tmpdir(), "frames-open-"));
afterAll(() => rmSync(folder, { recursive: true }));

let count = 0;
async function open(bytes: Uint8Array, options: OpenFrameOptions = {}) {
  const path = join(folder, `frame-${count++}`);
  writeFileSync(path, bytes);
  return { path, frame: await openFrame(path, options) };
}

// Two columns, three rows as stored: the first stored row is the displayed bottom.
const stored = [1, 2, 3, 4, 5, 65535];

describe("openFrame on FITS", () => {
  it("turns the rows over, so that row 0 is the last stored one, on shared memory and 16-bit", async () => {
    const { frame, path } = await open(makeUnsignedFits([2, 3], stored));
    expect(frame).toMatchObject({
      file: path,
      format: "fits",
      widthPx: 2,
      heightPx: 3,
      fullScaleAdu: 65535,
      warnings: [],
    });
    expect(frame.planes).toHaveLength(1);
    expect(frame.planes[0].samples).toBeInstanceOf(Uint16Array);
    expect(frame.planes[0].samples.buffer).toBeInstanceOf(SharedArrayBuffer);
    expect([...frame.planes[0].samples]).toEqual([5, 65535, 3, 4, 1, 2]);
  });

  it("keeps the rows where ROWORDER is TOP-DOWN", async () => {
    const { frame } = await open(makeUnsignedFits([2, 3], stored, [["ROWORDER", "TOP-DOWN"]]));
    expect([...frame.planes[0].samples]).toEqual(stored);
  });

  it("gives the hash of the file as stored, of gzip's bytes where it is packed, junk behind the image included", async () => {
    const plain = Buffer.concat([makeUnsignedFits([2, 3], stored), Buffer.alloc(3_000_001, 7)]);
    for (const bytes of [plain, gzip(plain)]) {
      const { frame } = await open(bytes);
      expect(frame.sha256).toBe(createHash("sha256").update(bytes).digest("hex"));
      expect([...frame.planes[0].samples]).toEqual([5, 65535, 3, 4, 1, 2]);
    }
  });

  it("puts a third axis of 3 on planes R, G and B, and a third axis of 1 on L", async () => {
    const { frame } = await open(makeUnsignedFits([2, 1, 3], stored));
    expect(frame.planes.map(({ channel, samples }) => [channel, ...samples])).toEqual([
      ["R", 1, 2],
      ["G", 3, 4],
      ["B", 5, 65535],
    ]);
    expect(
      (await open(makeUnsignedFits([2, 3, 1], stored))).frame.planes.map(({ channel }) => channel),
    ).toEqual(["L"]);
  });

  it("reads the unit named, and inherits keywords from a primary without data", async () => {
    const extension = (values: number[]): Buffer =>
      Buffer.concat([
        makeHeader([
          "XTENSION= 'IMAGE   '",
          ...mandatoryCards(16, [2, 1]).slice(1),
          ["PCOUNT", 0],
          ["GCOUNT", 1],
        ]),
        fillBlocks(makeShorts(values)),
      ]);
    const primary = makeHeader([...mandatoryCards(8, []), ["FILTER", "clear"]]);
    const file = Buffer.concat([primary, extension([1, 2]), extension([3, 4])]);
    expect([...(await open(file)).frame.planes[0].samples]).toEqual([1, 2]);
    const { frame } = await open(file, { hdu: 2 });
    expect([...frame.planes[0].samples]).toEqual([3, 4]);
    expect(frame.header.filter).toBe("clear");
  });

  it("moves to floats with the first negative or broken value, keeping what came before", async () => {
    const signed = Buffer.concat([
      makeHeader(mandatoryCards(16, [2, 2])),
      fillBlocks(makeShorts([7, 8, 9, -1])),
    ]);
    const { frame } = await open(signed);
    expect(frame.planes[0].samples).toBeInstanceOf(Float32Array);
    expect([...frame.planes[0].samples]).toEqual([9, -1, 7, 8]);
    expect(frame.fullScaleAdu).toBeNull();
  });

  it("warns where 16-bit samples without BZERO wrap to far below zero, not where noise is below it", async () => {
    const signed = (values: number[]): Buffer =>
      Buffer.concat([makeHeader(mandatoryCards(16, [2, 2])), fillBlocks(makeShorts(values))]);
    expect((await open(signed([900, 32000, -32000, 950]))).frame.warnings.join()).toContain("BZERO");
    expect((await open(signed([20, 32000, -60, 5]))).frame.warnings).toEqual([]);
  });

  it("keeps floats that are whole numbers of 16 bits as such, and half an ADU as a float", async () => {
    const floats = (values: number[]): Buffer =>
      Buffer.concat([makeHeader(mandatoryCards(-32, [2, 2])), fillBlocks(makeFloats(values))]);
    expect((await open(floats([0, 1, 65535, 3]))).frame.planes[0].samples).toBeInstanceOf(Uint16Array);
    expect([...(await open(floats([0, 1, 2.5, 3]))).frame.planes[0].samples]).toEqual([2.5, 3, 0, 1]);
    expect((await open(floats([0, 1, 65536, 3]))).frame.planes[0].samples).toBeInstanceOf(Float32Array);
  });

  it("warns of 8 bits a sample, with a full scale of 255", async () => {
    const { frame } = await open(
      Buffer.concat([makeHeader(mandatoryCards(8, [2, 2])), fillBlocks(Uint8Array.from([0, 128, 255, 3]))]),
    );
    expect([...frame.planes[0].samples]).toEqual([255, 3, 0, 128]);
    expect(frame.fullScaleAdu).toBe(255);
    expect(frame.warnings.join()).toContain("indicative");
  });

  it("finds the red corner of a colour-filter frame at the same displayed place for 2 and 3 rows", async () => {
    // Red sites hold 500, all others 1, as stored: RGGB from the first stored row.
    for (const heightPx of [2, 3]) {
      const values = Array.from({ length: 2 * heightPx }, (_, i) =>
        i % 2 === 0 && Math.floor(i / 2) % 2 === 0 ? 500 : 1,
      );
      const { frame } = await open(makeUnsignedFits([2, heightPx], values, [["BAYERPAT", "RGGB"]]));
      const [red] = frame.planes;
      red.samples.forEach((value, i) => {
        const site = (i % 2) + 2 * (Math.floor(i / 2) & 1);
        expect(value === 500).toBe(red.sites[site]);
      });
      expect(frame.header.cfa).toBe(heightPx === 2 ? "GBRG" : "RGGB");
    }
  });

  it("lets the record's pattern win over the header's and warns", async () => {
    const file = makeUnsignedFits([2, 2], [1, 2, 3, 4], [["BAYERPAT", "RGGB"]]);
    const { frame } = await open(file, { cfa: "BGGR" });
    expect(frame.planes[0].sites).toEqual([false, false, false, true]);
    expect(frame.header.cfa).toBe("GBRG");
    expect(frame.warnings.join()).toMatch(/BGGR.*GBRG/);
    expect((await open(file, { cfa: "GBRG" })).frame.warnings).toEqual([]);
  });

  it("reads an image larger than one band, 700 x 1201 px, as a plain loop does", async () => {
    const [widthPx, heightPx] = [701, 1201];
    const values = Array.from({ length: widthPx * heightPx }, (_, i) => (i * 7919) % 65536);
    const { frame } = await open(makeUnsignedFits([widthPx, heightPx], values));
    const { samples } = frame.planes[0];
    let differing = 0;
    for (let y = 0; y < heightPx; y++) {
      for (let x = 0; x < widthPx; x++) {
        if (samples[y * widthPx + x] !== values[(heightPx - 1 - y) * widthPx + x]) differing++;
      }
    }
    expect(differing).toBe(0);
  });
});
