import type { Quantization } from "./dither.ts";
import { findNumber, findText } from "./fits-header.ts";
import type { ImageLayout } from "./fits-layout.ts";
import { makeTableError } from "./fits-table.ts";
import { type FitsUnit, requireInteger } from "./fits-unit.ts";
import { makeFrameError } from "./frame-fault.ts";

export type TilePacking = "RICE_1" | "GZIP_1" | "GZIP_2" | "NOCOMPRESS";

/** How an image is cut into tiles and packed: the Z keywords of its table. */
export interface TilePlan {
  packing: TilePacking;
  /** Columns, rows and planes of a tile; those at the far edges may be smaller. */
  tile: readonly [number, number, number];
  /** Tiles along each axis. */
  counts: readonly [number, number, number];
  /** ZNAMEn with ZVALn. */
  parameters: Map<string, number>;
  quantization: Quantization;
  /** ZDITHER0: which row of the sequence the first tile begins with, from 1. */
  ditherSeed: number;
  /** ZSCALE, ZZERO and ZBLANK as keywords, where a column does not give them by tile. */
  scale: number | null;
  zero: number | null;
  blank: number | null;
}

const packingNames: Record<string, TilePacking> = {
  RICE_1: "RICE_1",
  RICE_ONE: "RICE_1",
  GZIP_1: "GZIP_1",
  GZIP_2: "GZIP_2",
  NOCOMPRESS: "NOCOMPRESS",
};

function readPacking(file: string, unit: FitsUnit): TilePacking {
  const name = findText(unit.header, "ZCMPTYPE") ?? "nothing";
  const packing = Object.hasOwn(packingNames, name) ? packingNames[name] : undefined;
  if (packing !== undefined) return packing;
  throw makeFrameError({
    code: "frames/packing-refused",
    file,
    key: "ZCMPTYPE",
    found: name,
    allowed: "RICE_1, GZIP_1, GZIP_2 or NOCOMPRESS",
    fix: "unpack the frame with a general FITS tool such as funpack, or pack it with RICE_1",
  });
}

function readQuantization(file: string, unit: FitsUnit): Quantization {
  const name = findText(unit.header, "ZQUANTIZ") ?? "NO_DITHER";
  if (name === "SUBTRACTIVE_DITHER_1" || name === "SUBTRACTIVE_DITHER_2") return name;
  if (name === "NO_DITHER" || name === "NONE") return "NO_DITHER";
  throw makeTableError(file, "ZQUANTIZ", name);
}

/**
 * The tile plan of a compressed image. Throws `ReportError`: frames/packing-refused (HCOMPRESS_1, PLIO_1 and unknown
 * ones, by name), frames/fits-table where tiles and rows of the table do not agree.
 * @source FITS Standard 4.0 (2018), section 10.1
 */
export function readTilePlan(file: string, unit: FitsUnit, layout: ImageLayout, tableRows: number): TilePlan {
  const { header } = unit;
  const packing = readPacking(file, unit);
  const axes = [layout.widthPx, layout.heightPx, layout.planes] as const;
  const side = (axis: 0 | 1 | 2): number => {
    const keyword = `ZTILE${axis + 1}`;
    if (!header.cards.has(keyword)) return axis === 0 ? axes[0] : 1;
    return Math.min(axes[axis], requireInteger(file, header, keyword, 1, Number.MAX_SAFE_INTEGER));
  };
  const tile = [side(0), side(1), side(2)] as const;
  const along = (axis: 0 | 1 | 2): number => Math.ceil(axes[axis] / tile[axis]);
  const counts = [along(0), along(1), along(2)] as const;
  const tiles = counts[0] * counts[1] * counts[2];
  if (tiles !== tableRows) {
    throw makeTableError(file, "NAXIS2", `${tableRows} rows for an image of ${tiles} tiles`);
  }
  const parameters = new Map<string, number>();
  for (let index = 1; index <= 99; index++) {
    const name = findText(header, `ZNAME${index}`);
    if (name === null) break;
    const value = findNumber(header, `ZVAL${index}`);
    if (value !== null) parameters.set(name.toUpperCase(), value);
  }
  return {
    packing,
    tile,
    counts,
    parameters,
    quantization: readQuantization(file, unit),
    ditherSeed: header.cards.has("ZDITHER0") ? requireInteger(file, header, "ZDITHER0", 0, 10_000) : 1,
    scale: findNumber(header, "ZSCALE"),
    zero: findNumber(header, "ZZERO"),
    blank: findNumber(header, "ZBLANK"),
  };
}
