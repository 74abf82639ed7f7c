import { drawElement } from "./svg.ts";

/** A cut-out in a sheet: its place in the list that the sheet was made of, and its side in pixels. */
export interface SheetCrop {
  index: number;
  sidePx: number;
}

/** Cut-outs of one list in one picture: below each other in the list's order, each in the upper left of a square cell. */
export interface CropSheet {
  href: string;
  /** Side of a cell, which is that of the largest cut-out. */
  cellPx: number;
  cells: number;
  /** Places in the list of those that could not be read; their cells are empty. */
  missing: ReadonlySet<number>;
}

/** A frame in the drawing's units. */
export interface CropFrame {
  x: number;
  y: number;
  width: number;
  height: number;
}

/** Heaviest sheet that is made, px: 84 cut-outs of 200 px a side are 3.4 million (chosen). */
const mostPixels = 4_000_000;

/** Cells of the sheet of a list; null where there is nothing to show or more than a page should carry. */
export function measureSheet(
  crops: readonly { sidePx: number }[],
): Pick<CropSheet, "cellPx" | "cells"> | null {
  if (crops.length === 0 || !crops.every(({ sidePx }) => Number.isInteger(sidePx) && sidePx > 0)) return null;
  const cellPx = crops.reduce((most, { sidePx }) => Math.max(most, sidePx), 0);
  return crops.length * cellPx * cellPx > mostPixels ? null : { cellPx, cells: crops.length };
}

/** How a table names a cut-out: by its cell, counted from the sheet's top from 1. */
export const countCell = (index: number): number => index + 1;

/** The sheet's picture, drawn nowhere yet; every window of the same drawing shows a part of it. */
export function defineSheet(id: string, { href, cellPx, cells }: CropSheet): string {
  const image = drawElement("image", {
    id,
    href,
    width: cellPx,
    height: cellPx * cells,
    preserveAspectRatio: "none",
    style: "image-rendering:pixelated",
  });
  return drawElement("defs", {}, image);
}

/** The middle of a cut-out, `windowPx` of its pixels wide, in a frame; every pixel is drawn as a square. */
export function drawCropWindow(
  sheetId: string,
  { cellPx }: CropSheet,
  { index, sidePx }: SheetCrop,
  windowPx: number,
  frame: CropFrame,
): string {
  const offset = (sidePx - windowPx) / 2;
  const box = [offset, index * cellPx + offset, windowPx, windowPx].map((px) => Number(px.toFixed(3)));
  return drawElement(
    "svg",
    { ...frame, viewBox: box.join(" ") },
    drawElement("use", { href: `#${sheetId}` }),
  );
}
