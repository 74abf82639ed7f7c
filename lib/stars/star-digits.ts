import { writeShape } from "./average-stars.ts";
import { makeStarTable, type StarTable } from "./star-table.ts";

/** Rounding of a stored column: digits after the point, or significant digits. Each is well below the column's own noise. */
type Rounding = { decimals: number } | { significant: number };

/**
 * The columns as stored. Shape is stored once, as width and spin-2 pair; long and short axis and angle follow from it.
 */
const STORED_COLUMNS = {
  xPx: { decimals: 3 },
  yPx: { decimals: 3 },
  fluxAdu: { significant: 5 },
  snr: { significant: 4 },
  peakAdu: { significant: 5 },
  backgroundAdu: { significant: 6 },
  fwhmPx: { decimals: 4 },
  e1: { decimals: 5 },
  e2: { decimals: 5 },
  hfdPx: { decimals: 4 },
  ee80Px: { decimals: 3 },
  sampledFwhmPx: { decimals: 4 },
  xErrPx: { significant: 2 },
  yErrPx: { significant: 2 },
  fwhmErr: { significant: 3 },
  eErr: { significant: 3 },
  fluxErrAdu: { significant: 3 },
  chi2: { significant: 3 },
} as const satisfies Record<string, Rounding>;

type StoredName = keyof typeof STORED_COLUMNS;

/** Columns of a star table as they stand in measured.json; null where a star has no value. */
export type StoredStars = Record<StoredName, (number | null)[]> & { flags: number[] };

export const STORED_NAMES = Object.keys(STORED_COLUMNS) as StoredName[];

function roundNumber(value: number, rounding: Rounding): number | null {
  if (!Number.isFinite(value)) return null;
  const rounded =
    "decimals" in rounding
      ? Number(value.toFixed(rounding.decimals))
      : Number(value.toPrecision(rounding.significant));
  return rounded === 0 ? 0 : rounded;
}

export function storeStars(stars: StarTable): StoredStars {
  const columns = STORED_NAMES.map((name): [StoredName, (number | null)[]] => {
    const read = (row: number) =>
      name === "fwhmPx" ? Math.sqrt(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) : stars[name][row];
    return [name, Array.from(stars.flags, (_, row) => roundNumber(read(row), STORED_COLUMNS[name]))];
  });
  return {
    ...(Object.fromEntries(columns) as Record<StoredName, (number | null)[]>),
    flags: [...stars.flags],
  };
}

/** The table back from its stored columns, all of one length; what was null is NaN. */
export function restoreStars(stored: StoredStars): StarTable {
  const stars = makeStarTable(stored.flags.length);
  for (const name of STORED_NAMES) {
    if (name === "fwhmPx") continue;
    const column = stars[name];
    stored[name].forEach((value, row) => {
      column[row] = value ?? Number.NaN;
    });
  }
  stars.flags.set(stored.flags);
  stored.flags.forEach((_, row) => {
    writeShape(stars, row, stored.fwhmPx[row] ?? Number.NaN, stars.e1[row], stars.e2[row]);
  });
  return stars;
}
