import { findText } from "./fits-header.ts";
import { type FitsUnit, requireInteger } from "./fits-unit.ts";
import { makeFrameError } from "./frame-fault.ts";

/** One column of a binary table: where it lies in a row and what it holds. */
export interface TableColumn {
  offsetBytes: number;
  /** TFORM's letter; P and Q are descriptors of a piece of the heap. */
  type: string;
  /** For P and Q the letter of what lies in the heap. */
  heapType: string;
}

/** A binary table's plan: fixed rows, then the heap that descriptors point into. */
export interface TableLayout {
  rowBytes: number;
  rows: number;
  /** Offset of the heap from the start of the data. */
  heapOffset: number;
  columns: Map<string, TableColumn>;
}

// FITS Standard 4.0, table 18: bytes of one element.
const elementBytes: Record<string, number> = {
  L: 1,
  X: 1 / 8,
  B: 1,
  I: 2,
  J: 4,
  K: 8,
  A: 1,
  E: 4,
  D: 8,
  C: 8,
  M: 16,
  P: 8,
  Q: 16,
};

/** The columns of a table by upper-case name. Throws `ReportError` frames/fits-table. */
export function readTableLayout(file: string, unit: FitsUnit): TableLayout {
  const [rowBytes = 0, rows = 0] = unit.axes;
  const columns = new Map<string, TableColumn>();
  const fields = requireInteger(file, unit.header, "TFIELDS", 1, 999);
  let offsetBytes = 0;
  for (let field = 1; field <= fields; field++) {
    const form = findText(unit.header, `TFORM${field}`) ?? "";
    const match = /^(\d*)([A-Z])([A-Z]?)/i.exec(form);
    const type = match?.[2].toUpperCase() ?? "";
    const heapType = match?.[3].toUpperCase() ?? "";
    const points = type === "P" || type === "Q";
    if (
      match === null ||
      elementBytes[type] === undefined ||
      (points && elementBytes[heapType] === undefined)
    ) {
      throw makeTableError(file, `TFORM${field}`, form === "" ? "no such keyword" : form);
    }
    const name = findText(unit.header, `TTYPE${field}`)?.toUpperCase();
    if (name !== undefined) {
      columns.set(name, { offsetBytes, type, heapType });
    }
    offsetBytes += Math.ceil((match[1] === "" ? 1 : Number(match[1])) * elementBytes[type]);
  }
  if (offsetBytes > rowBytes) {
    throw makeTableError(file, "NAXIS1", `${rowBytes} bytes a row for columns of ${offsetBytes}`);
  }
  const tableBytes = rowBytes * rows;
  const heapOffset = unit.header.cards.has("THEAP")
    ? requireInteger(file, unit.header, "THEAP", tableBytes, unit.dataBytes)
    : tableBytes;
  return { rowBytes, rows, heapOffset, columns };
}

/** The fault of a table whose plan contradicts itself. */
export function makeTableError(file: string, key: string, found: string): Error {
  return makeFrameError({
    code: "frames/fits-table",
    file,
    key,
    found,
    allowed: "a binary table as the FITS standard has it for a tile-compressed image",
    fix: "pack the frame again, or unpack it with a general FITS tool such as funpack",
  });
}

/** A number of a row's column, for the scale of a tile; null where there is no such column. */
export function readTableNumber(
  view: DataView,
  layout: TableLayout,
  row: number,
  name: string,
): number | null {
  const column = layout.columns.get(name);
  if (column === undefined) return null;
  const offset = row * layout.rowBytes + column.offsetBytes;
  switch (column.type) {
    case "D":
      return view.getFloat64(offset);
    case "E":
      return view.getFloat32(offset);
    case "K":
      return Number(view.getBigInt64(offset));
    case "J":
      return view.getInt32(offset);
    case "I":
      return view.getInt16(offset);
    default:
      return null;
  }
}

/**
 * The bytes in the heap that a row's descriptor points to; null for an empty descriptor or an absent column.
 * Throws `ReportError` where it points outside the data.
 */
export function readHeapPiece(
  file: string,
  data: Uint8Array,
  layout: TableLayout,
  row: number,
  name: string,
): Uint8Array | null {
  const column = layout.columns.get(name);
  if (column === undefined || (column.type !== "P" && column.type !== "Q")) return null;
  const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  const at = row * layout.rowBytes + column.offsetBytes;
  const wide = column.type === "Q";
  const count = wide ? Number(view.getBigInt64(at)) : view.getInt32(at);
  const offset = wide ? Number(view.getBigInt64(at + 8)) : view.getInt32(at + 4);
  if (count === 0) return null;
  const start = layout.heapOffset + offset;
  const length = Math.ceil(count * elementBytes[column.heapType]);
  if (count < 0 || offset < 0 || start + length > data.length) {
    throw makeTableError(
      file,
      name,
      `tile ${row + 1} at bytes ${start} to ${start + length} of ${data.length}`,
    );
  }
  return data.subarray(start, start + length);
}
