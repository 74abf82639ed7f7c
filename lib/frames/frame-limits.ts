/**
 * Bounds that a header's claims are held against before anything is allocated. Chosen, not published: the largest
 * sensors in use for this work have some 150 megapixels and sides below 20,000 px, so that three planes of such a
 * frame, or a mosaic of a few, still pass, and a hostile header cannot ask for more than 2 GB.
 */
export const FRAME_LIMITS = {
  maxSidePx: 100_000,
  maxSamples: 500_000_000,
  /** One header; the longest of archives run to some thousand cards of 80 bytes. */
  maxHeaderBytes: 4 * 1024 * 1024,
  /** Header-data units looked through for an image. */
  maxUnits: 1000,
  /** Bytes that a compressed file may unpack to; keeps a small file from filling the machine. */
  maxUnpackedBytes: 4 * 1024 * 1024 * 1024,
} as const;

/** Why an image of this size is refused, or null where it is within bounds. Sizes in px. */
export function judgeFrameSize(widthPx: number, heightPx: number, planes: number): string | null {
  if (widthPx > FRAME_LIMITS.maxSidePx || heightPx > FRAME_LIMITS.maxSidePx) {
    return `${widthPx} x ${heightPx} px`;
  }
  return widthPx * heightPx * planes > FRAME_LIMITS.maxSamples
    ? `${widthPx} x ${heightPx} px in ${planes} plane(s)`
    : null;
}

/** The bounds in words, for the message of a fault. */
export const frameSizeAllowed = `at most ${FRAME_LIMITS.maxSidePx} px a side and ${
  FRAME_LIMITS.maxSamples / 1e6
} million samples`;
