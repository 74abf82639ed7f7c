import type { LearnedShape } from "../stars/plane-measurement.ts";
import type { ResampledPlane } from "./resample-plane.ts";

/**
 * What a frame's stars taught of their shape, read on the coarser grid that `resamplePlane` made of it: the same light, so
 * the same profile, at the same places of the sky. Radii count in half-widths and need no change; the coarser grid's
 * margin, some 26 px at each edge, is left out of account for the profile, which changes slowly.
 */
export function lendShape(
  learned: LearnedShape,
  from: { widthPx: number; heightPx: number },
  to: Pick<ResampledPlane, "widthPx" | "heightPx">,
  pixelRatio: number,
): LearnedShape {
  const { widthPx, heightPx } = to;
  const findOwn = (place: number, size: number, ownSize: number) =>
    (ownSize - 1) / 2 + (place - (size - 1) / 2) * pixelRatio;
  return {
    field: { ...learned.field, widthPx, heightPx },
    ellipticity: (x, y) =>
      learned.ellipticity(findOwn(x, widthPx, from.widthPx), findOwn(y, heightPx, from.heightPx)),
    isSettled: true,
  };
}
