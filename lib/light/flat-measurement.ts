/** What was measured of the flats of one test: plain data, stored in measured.json by flats-digits.ts. */

/** A number with its standard error. */
export interface Estimate {
  value: number;
  error: number;
}

/**
 * The smooth map of the light: (1 + gradient . p) R(|p - centre|) + mesh(p), 1 at its brightest point; p in mm from the
 * sensor's centre, x right and y up as displayed. Valid on the part of the sensor that the frame shows.
 */
export interface LightMap {
  /** Of the part that is symmetric about a point. */
  centre: { x: number; y: number };
  /** Share per mm. */
  gradient: { x: number; y: number };
  /** Coefficients of cubic B-splines in the radius, a knot every `radialStepMm` from 0. */
  radialStepMm: number;
  radial: number[];
  /** What is left: cubic B-splines on a mesh, rows from the lowest, each from the left. */
  mesh: { columns: number; rows: number; stepMm: number; leftMm: number; lowerMm: number; values: number[] };
}

export type CornerName = "upperLeft" | "upperRight" | "lowerLeft" | "lowerRight";

/** Photon transfer: what pairs of flats and biases say of the camera. */
export interface TransferMeasurement {
  gainElectronsPerAdu: Estimate;
  /** Null where there are no two bias frames. */
  readNoiseElectrons: Estimate | null;
  flatPairs: number;
  biasPairs: number;
}

/** Light of all directions at one field radius, percent of the brightest: mean and range over the frame. */
export interface LightRing {
  rMm: number;
  mean: number;
  least: number;
  most: number;
}

/** One colour plane, or the flats through one filter. */
export interface FlatChannel {
  channel: string;
  frames: number;
  /** Level at the brightest point above zero, ADU, and as a share of saturation (null: not known). */
  levelAdu: number;
  levelShare: number | null;
  map: LightMap;
  /** Percent of the brightest point. */
  corners: Record<CornerName, Estimate> | null;
  falloffPercent: Estimate | null;
  /** Brightest point, mm. */
  brightest: { x: Estimate; y: Estimate };
  /** Percent across the sensor's diagonal, along x and y. */
  gradient: { x: Estimate; y: Estimate };
  /** Middle of the symmetric part; null where the fall-off does not tell it from a gradient. */
  symmetry: { x: Estimate; y: Estimate } | null;
  fullyLitRadiusMm: Estimate | null;
  rings: LightRing[];
  /** What was left out, and how well the map fits. */
  masked: {
    dustSpots: number;
    dustPercent: number;
    /** Share of pixels left out as hot, dead or struck, percent. */
    pixelPercent: number;
    /** Cells in single frames that shone brighter than in the others: stars in a sky flat. */
    starCells: number;
  };
  /** Scatter of single cells about the map, and frame against frame in the corners; percent of the brightest. */
  cellScatterPercent: number;
  cornerScatterPercent: number | null;
  transfer: TransferMeasurement | null;
}

export interface FlatFile {
  file: string;
  sha256: string;
  role: "flat" | "zero";
  exposureS: number | null;
  filter: string | null;
}

export interface FlatsMeasurement {
  /** Digest of files, settings and measuring code. */
  key: string;
  files: FlatFile[];
  widthPx: number;
  heightPx: number;
  binning: number;
  /** What was taken off: the level at its middle, ADU, and where it comes from. */
  zero: { from: "bias" | "darkFlats" | "record" | "header"; adu: number };
  channels: FlatChannel[];
  warnings: string[];
}
