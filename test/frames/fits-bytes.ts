import { gzipSync } from "node:zlib";

type CardInput = readonly [keyword: string, value: string | number | boolean] | string;

/** One card of 80 characters; a string is taken as it stands. */
function makeCard(input: CardInput): string {
  if (typeof input === "string") return input.padEnd(80);
  const [keyword, value] = input;
  const text =
    typeof value === "string"
      ? `'${value.replaceAll("'", "''").padEnd(8)}'`
      : typeof value === "boolean"
        ? (value ? "T" : "F").padStart(20)
        : String(value).padStart(20);
  return `${keyword.padEnd(8)}= ${text}`.padEnd(80);
}

/** A header of the cards given and END, filled to whole blocks. */
export function makeHeader(cards: readonly CardInput[], end = true): Buffer {
  const text = [...cards, ...(end ? ["END"] : [])].map(makeCard).join("");
  return Buffer.from(text.padEnd(Math.ceil(text.length / 2880) * 2880), "latin1");
}

/** Data filled to whole blocks with zeros. */
export function fillBlocks(data: Uint8Array): Buffer {
  return Buffer.concat([data, Buffer.alloc((2880 - (data.length % 2880)) % 2880)]);
}

/** Big-endian 16-bit samples, stored as given. */
export function makeShorts(values: readonly number[]): Buffer {
  const bytes = Buffer.alloc(2 * values.length);
  values.forEach((value, i) => {
    bytes.writeInt16BE(value, 2 * i);
  });
  return bytes;
}

/** Big-endian 32-bit floats. */
export function makeFloats(values: readonly number[]): Buffer {
  const bytes = Buffer.alloc(4 * values.length);
  values.forEach((value, i) => {
    bytes.writeFloatBE(value, 4 * i);
  });
  return bytes;
}

export const mandatoryCards = (bitpix: number, axes: readonly number[]): CardInput[] => [
  ["SIMPLE", true],
  ["BITPIX", bitpix],
  ["NAXIS", axes.length],
  ...axes.map((axis, i): CardInput => [`NAXIS${i + 1}`, axis]),
];

/** An unsigned 16-bit image, values 0 to 65535 in stored order, with further cards. */
export function makeUnsignedFits(
  axes: readonly number[],
  values: readonly number[],
  cards: readonly CardInput[] = [],
): Buffer {
  const header = makeHeader([...mandatoryCards(16, axes), ["BZERO", 32768], ["BSCALE", 1], ...cards]);
  return Buffer.concat([header, fillBlocks(makeShorts(values.map((value) => value - 32768)))]);
}

/** A Rice-packed 16-bit image in one tile, from the packed bytes as they are, with Z cards to override. */
export function makeTiledFits(
  widthPx: number,
  heightPx: number,
  packed: Uint8Array,
  overrides: Record<string, string | number> = {},
): Buffer {
  const cards: Record<string, string | number | boolean> = {
    XTENSION: "BINTABLE",
    BITPIX: 8,
    NAXIS: 2,
    NAXIS1: 8,
    NAXIS2: 1,
    PCOUNT: packed.length,
    GCOUNT: 1,
    TFIELDS: 1,
    TTYPE1: "COMPRESSED_DATA",
    TFORM1: "1PB",
    ZIMAGE: true,
    ZCMPTYPE: "RICE_1",
    ZBITPIX: 16,
    ZNAXIS: 2,
    ZNAXIS1: widthPx,
    ZNAXIS2: heightPx,
    ZTILE1: widthPx,
    ZTILE2: heightPx,
    ZNAME1: "BLOCKSIZE",
    ZVAL1: 32,
    ZNAME2: "BYTEPIX",
    ZVAL2: 2,
    ...overrides,
  };
  const descriptor = Buffer.alloc(8);
  descriptor.writeInt32BE(packed.length, 0);
  return Buffer.concat([
    makeHeader(mandatoryCards(8, [])),
    makeHeader(Object.entries(cards)),
    fillBlocks(Buffer.concat([descriptor, packed])),
  ]);
}

export const gzip = (bytes: Uint8Array): Buffer => gzipSync(bytes);
