/** A column of a figure's or table's data, for its CSV and for the table shown in the page. */
export interface DataColumn {
  /** CSV header, unit last: "radius_mm". */
  key: string;
  /** Heading as read on the page, with unit: "Field radius, mm". */
  heading: string;
}

/** Cells are text or numbers; null where nothing can be told. */
export interface DataTable {
  columns: DataColumn[];
  rows: (string | number | null)[][];
}

/** A figure ready for the page: static picture, its words, its numbers and, where reading off helps, chart settings. */
export interface Figure {
  /** Fixed by hand: "fig-shape-field"; unique on a page (a test's id is appended where a page repeats it). */
  id: string;
  /** The test it belongs to; absent where it belongs to the whole train. */
  test?: string;
  /** States the finding, at most about 15 words. */
  title: string;
  /** States measure, coverage, units. */
  subtitle: string;
  /** Text alternative for those who do not see the picture. */
  alternative: string;
  /** Self-contained SVG element; colours through CSS variables with a light fallback. */
  svg: string;
  data: DataTable;
  /** Data for Chart.js, read by the page's script; null for drawings that gain nothing from it. */
  chart: ChartSettings | null;
}

/** A plain description that the page's script turns into a Chart.js chart; one entry per unit the reader may pick. */
export interface ChartSettings {
  kind: "scatter" | "line";
  xTitle: string;
  /** Key is the unit: "px", "um", "arcsec"; a chart without choice has the single key "only". */
  units: Record<string, ChartUnit>;
  /** Names of the places 0, 1, 2 ... along x, where x is a list and no number. */
  xLabels?: string[];
}

/** What is drawn in one unit: series of its own, or those of another unit times a factor. */
export type ChartUnit =
  | { yTitle: string; yTitleRight?: string; series: ChartSeries[] }
  | { yTitle: string; of: string; factor: number };

export interface ChartSeries {
  label: string;
  /** Name of the mark and colour slot, "series-1" and so on, so that static and live pictures agree. */
  slot: string;
  points: [number, number][];
  /** 95 % interval of each point, in the same order, for the read-off. */
  intervals?: [number, number][];
  line: boolean;
  /** Read off the axis at the right, which `yTitleRight` names. */
  axis?: "right";
  /** Switched off until the reader asks for it. */
  off?: true;
}
