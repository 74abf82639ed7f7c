import { STAR_FLAGS, type StarTable } from "../stars/star-table.ts";

/** A star's light must stand this far above every neighbour's. */
const brightestNeighbour = 0.01;

const noNeighbour = STAR_FLAGS.spike | STAR_FLAGS.trail;

/** Whether no other object with more than a hundredth of the star's light lies within `reachPx`. */
export function isAlone(stars: StarTable, row: number, reachPx: number): boolean {
  for (let other = 0; other < stars.flags.length; other++) {
    if (other === row || (stars.flags[other] & noNeighbour) !== 0) continue;
    if (!(stars.fluxAdu[other] > brightestNeighbour * stars.fluxAdu[row])) continue;
    const away = Math.hypot(stars.xPx[other] - stars.xPx[row], stars.yPx[other] - stars.yPx[row]);
    if (away < reachPx) return false;
  }
  return true;
}
