/** A stretch of limb in one channel, lengths in px of the frame. */
export interface EdgeSpread {
  /** Where the light has fallen to half, along the normal outwards from the circle. */
  positionPx: number;
  /** Distance over which it falls from 90 to 10 %, the pixel's own width in it. */
  spreadPx: number;
  /** Half-maximum width of the line spread, likewise. */
  fwhmPx: number;
  /** Where the modulation transfer falls to a half, cycles a px. */
  mtf50: number;
}

/** A stretch of the limb, in every channel. */
export interface EdgeStretch {
  /** Direction of the outward normal, degrees counter-clockwise from +x as displayed. */
  angleDeg: number;
  /** Middle of the stretch on the frame, px. */
  xPx: number;
  yPx: number;
  channels: Record<string, EdgeSpread>;
}

/** The Moon's limb in one frame. */
export interface EdgeFrame {
  file: string;
  sha256: string;
  widthPx: number;
  heightPx: number;
  binning: number | null;
  cropOriginPx: { x: number; y: number } | null;
  /** The limb's circle on the frame, px; null where none was found. */
  circle: { xPx: number; yPx: number; radiusPx: number } | null;
  stretches: EdgeStretch[];
  /** Why there is nothing, or what to know; a sentence each. */
  warnings: string[];
}

/** `edge` in measured.json. */
export interface EdgeMeasurement {
  key: string;
  frames: EdgeFrame[];
}
