import type { Corner, TestResults } from "../report/results.ts";

export type SpokeCrop = NonNullable<TestResults["spokes"]>["crops"][number];

/** Widths of the widest star that a frame shows: enough for its wings, few enough that the core fills the eye (chosen). */
const widthsShown = 3.2;

/** Side of the part of the cut-outs that is shown, px, one for all so that stars compare by eye. */
export function chooseWindowPx(crops: readonly SpokeCrop[]): number {
  const smallest = Math.min(...crops.map((crop) => crop.sidePx));
  const widest = Math.max(
    ...crops.map((crop) => crop.fwhmPx / Math.sqrt(Math.max(0.05, 1 - crop.ellipticity))),
  );
  return Math.max(5, Math.min(smallest, Math.ceil(widthsShown * widest)));
}

/**
 * The cut-outs of a row: the centre's, the outermost, and of those between as many as stand clear of one another at
 * their true radii, taken from the corner inwards, as the corner is what the figure is for.
 */
export function chooseCrops(crops: readonly SpokeCrop[], corner: Corner, leastGapMm: number): SpokeCrop[] {
  const centre = crops
    .filter((crop) => crop.halfDiagonal === "centre")
    .sort((a, b) => a.rMm - b.rMm)
    .slice(0, 1);
  const chosen: SpokeCrop[] = [];
  const outwardFirst = crops.filter((crop) => crop.halfDiagonal === corner).sort((a, b) => b.rMm - a.rMm);
  for (const crop of outwardFirst) {
    if ([...chosen, ...centre].every((other) => Math.abs(other.rMm - crop.rMm) >= leastGapMm))
      chosen.push(crop);
  }
  return [...centre, ...chosen.reverse()];
}
