import { findText } from "./fits-header.ts";
import type { FitsUnit } from "./fits-unit.ts";

const wordRange = 2 ** 32;

/** Ones'-complement addition: what overflows 32 bits is added at the low end. */
function fold(sum: number): number {
  let folded = sum;
  while (folded >= wordRange) folded = (folded % wordRange) + Math.floor(folded / wordRange);
  return folded;
}

/**
 * A running 32-bit ones'-complement sum of big-endian words, over bytes that arrive in pieces of any length. Fill
 * bytes are zero and so need not be added.
 * @source FITS Standard 4.0 (2018), section 4.4.2.7 and appendix J
 */
export class ChecksumSum {
  #sum = 0;
  #phase = 0;

  /** Adds the next bytes; no more than 8 MB at once, so that the sum stays an exact double. */
  add(bytes: Uint8Array): void {
    let sum = this.#sum;
    let i = 0;
    for (; i < bytes.length && (this.#phase + i) % 4 !== 0; i++) {
      sum += bytes[i] * 2 ** (8 * (3 - ((this.#phase + i) % 4)));
    }
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (; i + 4 <= bytes.length; i += 4) sum += view.getUint32(i);
    for (; i < bytes.length; i++) sum += bytes[i] * 2 ** (8 * (3 - ((this.#phase + i) % 4)));
    this.#phase = (this.#phase + bytes.length) % 4;
    this.#sum = fold(sum);
  }

  /** The sum so far, 0 to 2^32 - 1. */
  get value(): number {
    return this.#sum;
  }
}

/** Sum of bytes that are at hand, whole. */
export function sumBytes(bytes: Uint8Array, start = 0): number {
  const sum = new ChecksumSum();
  for (let offset = 0; offset < bytes.length; offset += 1 << 20) {
    sum.add(bytes.subarray(offset, offset + (1 << 20)));
  }
  return fold(sum.value + start);
}

/** Characters between "9" and "A" and between "Z" and "a" are avoided by moving a pair apart. */
const isPunctuation = (code: number): boolean => (code > 57 && code < 65) || (code > 90 && code < 97);

/**
 * A 32-bit sum as the 16 characters of CHECKSUM (the sum itself; a header stores that of the complement).
 * @source FITS Standard 4.0 (2018), appendix J.2; Seaman, Pence & Rots
 */
export function encodeChecksum(sum: number): string {
  const codes = new Array<number>(16).fill(0);
  for (let byteIndex = 0; byteIndex < 4; byteIndex++) {
    const byte = Math.floor(sum / 2 ** (8 * (3 - byteIndex))) % 256;
    const quotient = (byte >> 2) + 48;
    const parts = [quotient + (byte & 3), quotient, quotient, quotient];
    for (let again = true; again; ) {
      again = false;
      for (let pair = 0; pair < 4; pair += 2) {
        while (isPunctuation(parts[pair]) || isPunctuation(parts[pair + 1])) {
          parts[pair]++;
          parts[pair + 1]--;
          again = true;
        }
      }
    }
    for (let part = 0; part < 4; part++) codes[4 * part + byteIndex] = parts[part];
  }
  const text = String.fromCharCode(...codes);
  return text[15] + text.slice(0, 15);
}

/**
 * What is wrong with a unit's DATASUM and CHECKSUM, as a sentence for the page; null where both agree or are absent.
 * A wrong sum is no fault: programs that edit a header often leave the old one behind.
 */
export function judgeChecksum(unit: FitsUnit, dataSum: number): string | null {
  const stated = findText(unit.header, "DATASUM");
  if (stated !== null && /^\d{1,10}$/.test(stated) && Number(stated) !== dataSum) {
    return `The file's DATASUM (${stated}) does not agree with its data (${dataSum}): the samples were changed or damaged after it was written.`;
  }
  if (findText(unit.header, "CHECKSUM") === null) return null;
  const total = sumBytes(unit.headerBytes, dataSum);
  if (total === wordRange - 1 || total === 0) return null;
  return "The file's CHECKSUM does not agree with its header and data: the header was changed, or the file damaged, after it was written.";
}

/** True where a unit has a sum to check. */
export function hasChecksum(unit: FitsUnit): boolean {
  return unit.header.cards.has("DATASUM") || unit.header.cards.has("CHECKSUM");
}
