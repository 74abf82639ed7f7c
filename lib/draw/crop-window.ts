import { drawElement } from "./svg.ts";

/** A frame in the drawing's units. */
export interface CropFrame {
  x: number;
  y: number;
  width: number;
  height: number;
}

/** The middle of a cut-out's picture, `windowPx` of its pixels wide, in a frame; every pixel is drawn as a square. */
export function drawCropWindow(href: string, sidePx: number, windowPx: number, frame: CropFrame): string {
  const [offset, side] = [(sidePx - windowPx) / 2, windowPx].map((px) => Number(px.toFixed(3)));
  return drawElement(
    "svg",
    { ...frame, viewBox: `${offset} ${offset} ${side} ${side}` },
    drawElement("image", {
      href,
      width: sidePx,
      height: sidePx,
      preserveAspectRatio: "none",
      style: "image-rendering:pixelated",
    }),
  );
}
