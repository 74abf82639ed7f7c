/** Samples of one channel of one frame, as the star measures need them. A `Plane` with its frame's size fits. */
export interface SamplePlane {
  widthPx: number;
  heightPx: number;
  /** Row-major, row 0 at the top as displayed, ADU; NaN: no value there. */
  samples: Uint16Array | Float32Array;
  /** Which cells of the 2 x 2 block are this channel's: index (x & 1) + 2 * (y & 1). */
  sites: readonly [boolean, boolean, boolean, boolean];
  /**
   * Noise of the light of a star over what the scatter from pixel to pixel lets expect; above 1 where neighbouring
   * samples share noise, as those of a resampled frame do. 1 where left out.
   */
  noiseFactor?: number;
}

/** What is known of the camera's noise; null where neither record nor header tells. */
export interface CameraNoise {
  gainElectronsPerAdu: number | null;
  readNoiseElectrons: number | null;
  saturationAdu: number | null;
}
