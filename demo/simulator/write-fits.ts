/** A header value with the comment that explains it. */
export interface HeaderCard {
  keyword: string;
  value: string | number | boolean;
  comment: string;
}

const blockBytes = 2880;

/**
 * A FITS file of unsigned 16-bit samples: BITPIX 16 with BZERO 32768, big-endian, header and data padded to blocks of
 * 2,880 bytes. `samples` has row 0 at the displayed top; rows are stored bottom first as the standard displays them, or
 * as they are with `rowsTopDown`, which then says so by ROWORDER.
 *
 * Source: FITS Standard 4.0 (2018), sections 3.3, 4.2 and 4.4.2.
 */
export function encodeFits(
  image: { samples: Uint16Array; widthPx: number; heightPx: number },
  cards: readonly HeaderCard[],
  rowsTopDown: boolean,
): Uint8Array {
  const { samples, widthPx, heightPx } = image;
  const all: HeaderCard[] = [
    { keyword: "SIMPLE", value: true, comment: "conforms to the FITS standard" },
    { keyword: "BITPIX", value: 16, comment: "two's complement, big-endian" },
    { keyword: "NAXIS", value: 2, comment: "" },
    { keyword: "NAXIS1", value: widthPx, comment: "px" },
    { keyword: "NAXIS2", value: heightPx, comment: "px" },
    { keyword: "BZERO", value: 32768, comment: "samples are unsigned" },
    { keyword: "BSCALE", value: 1, comment: "" },
    ...(rowsTopDown
      ? [{ keyword: "ROWORDER", value: "TOP-DOWN", comment: "first row is the upper one" }]
      : []),
    ...cards,
  ];
  const header = `${all.map(formatCard).join("")}${"END".padEnd(80)}`;
  const headerBytes = Math.ceil(header.length / blockBytes) * blockBytes;
  const dataBytes = Math.ceil((2 * samples.length) / blockBytes) * blockBytes;
  const file = new Uint8Array(headerBytes + dataBytes);
  for (let i = 0; i < headerBytes; i++) file[i] = i < header.length ? header.charCodeAt(i) : 32;
  let to = headerBytes;
  for (let row = 0; row < heightPx; row++) {
    const from = (rowsTopDown ? row : heightPx - 1 - row) * widthPx;
    for (let x = 0; x < widthPx; x++, to += 2) {
      const stored = samples[from + x] ^ 0x8000;
      file[to] = stored >>> 8;
      file[to + 1] = stored & 0xff;
    }
  }
  return file;
}

/** One card of 80 characters; a comment that does not fit is cut. */
function formatCard({ keyword, value, comment }: HeaderCard): string {
  const text = formatValue(value);
  const body = `${keyword.padEnd(8)}= ${typeof value === "string" ? text.padEnd(20) : text.padStart(20)}`;
  if (body.length > 80) throw new RangeError(`the value of ${keyword} does not fit a header card`);
  return (comment === "" ? body : `${body} / ${comment}`).slice(0, 80).padEnd(80);
}

function formatValue(value: string | number | boolean): string {
  if (typeof value === "boolean") return value ? "T" : "F";
  if (typeof value === "number") return String(value).toUpperCase();
  return `'${value.replaceAll("'", "''").padEnd(8)}'`;
}
