import { describe, expect, it } from "vitest";
import { ChecksumSum, encodeChecksum, sumBytes } from "../../lib/frames/fits-checksum.ts";
import { makeRandomBytes } from "./random-bytes.ts";

/** Slow twin: words of four bytes, each overflow brought back at once. */
function sumPlainly(bytes: Uint8Array): number {
  let sum = 0n;
  for (let i = 0; i < bytes.length; i += 4) {
    let word = 0n;
    for (let byte = 0; byte < 4; byte++) word = (word << 8n) | BigInt(bytes[i + byte] ?? 0);
    sum += word;
    if (sum > 0xffffffffn) sum -= 0xffffffffn;
  }
  return Number(sum);
}

describe("ChecksumSum", () => {
  it("agrees with a slow twin on 4001 bytes in pieces of 1 to 17 bytes, seed 13", () => {
    const bytes = makeRandomBytes(4001, 13);
    const sum = new ChecksumSum();
    for (let offset = 0, piece = 1; offset < bytes.length; offset += piece, piece = (piece % 17) + 1) {
      sum.add(bytes.slice(offset, offset + piece));
      piece = Math.min(piece, bytes.length - offset);
    }
    expect(sumBytes(bytes)).toBe(sumPlainly(bytes));
    expect(sum.value).toBe(sumPlainly(bytes));
  });

  it("brings overflow back: two words of all ones are all ones", () => {
    expect(sumBytes(new Uint8Array(8).fill(255))).toBe(2 ** 32 - 1);
  });
});

describe("encodeChecksum", () => {
  it("gives 16 letters and digits whose words, with 0x30 taken from each byte, sum to the value, for 200 values", () => {
    const random = makeRandomBytes(800, 21);
    for (let i = 0; i < 200; i++) {
      const value = new DataView(random.buffer).getUint32(4 * i);
      const text = encodeChecksum(value);
      expect(text).toMatch(/^[0-9A-Za-z]{16}$/);
      const turned = text.slice(1) + text[0];
      expect(sumBytes(Uint8Array.from(turned, (letter) => letter.charCodeAt(0) - 48))).toBe(value);
    }
  });
});
