import type { SamplePlane } from "../stars/samples.ts";
import type { StarTable } from "../stars/star-table.ts";

/** One channel of a frame with its pixels, its stars and what was learned of both. */
export interface PixelChannel {
  channel: string;
  plane: SamplePlane;
  stars: StarTable;
  /** One sigma of the background, ADU. */
  noiseAdu: number;
  gainElectronsPerAdu: number;
  /** Exponent that describes the stars' profile; NaN where it is not known. */
  moffatBeta: number;
}
