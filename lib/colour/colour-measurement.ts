import type { Corner } from "../report/results.ts";

/** Light about bright stars in rings, star by star, in every channel of one frame. */
export interface HaloMeasurement {
  /** Edges of the rings, px from the star's centre; one more than there are rings. */
  edgesPx: number[];
  /** The stars' places in the main channel, px. */
  xPx: number[];
  yPx: number[];
  /** By channel: for each star, its rings' light as shares of the star's whole light. */
  channels: Record<string, number[][]>;
}

/** How far the light of bright lone stars lies from their fitted centres, star by star, in one frame. */
export interface LeanMeasurement {
  /** The stars' fitted places in the main channel, px. */
  xPx: number[];
  yPx: number[];
  /** By channel: mean place of the light less the channel's own fitted place, px, y down, and its error. */
  channels: Record<string, { dxPx: number[]; dyPx: number[]; errPx: number[] }>;
}

/** A star cut out of one channel. */
export interface ChannelCrop {
  place: Corner | "centre";
  channel: string;
  /** Relative to the test's folder. */
  file: string;
  xPx: number;
  yPx: number;
  sidePx: number;
}

/** What the pixels of a test's frames say of colour: `colour` in measured.json. */
export interface ColourMeasurement {
  /** Digest of the frames' keys and of the code that measured them. */
  key: string;
  halos: HaloMeasurement[];
  /** One for each of the test's frames, null where too few stars tell; empty in files older than this measure. */
  leans: (LeanMeasurement | null)[];
  crops: ChannelCrop[];
}
