/** Matches 500 pairs of drawn fields that share no star and counts those that are matched all the same. See README.md. */
import { isMatch, matchStars } from "../../../lib/compare/match-stars.ts";
import { drawSky, drawView } from "../../compare/draw-star-pair.ts";

const pairs = 500;
/** Usable stars of a frame, about: from hardly enough to a rich field. */
const counts = [20, 60, 200, 600, 1500];
const view = { widthPx: 6248, heightPx: 4176, errorPx: 0.2, shiftPx: { x: 0, y: 0 }, turnDeg: 0, faintest: 10 };
let matched = 0;
for (let seed = 1; seed <= pairs; seed++) {
  const draw = (count: number, sky: number) =>
    drawView(drawSky(2.5 * count, 1, sky), { ...view, focalPx: 4000 }, sky).list;
  const one = draw(counts[seed % counts.length], 20_000 + seed);
  const other = draw(counts[Math.floor(seed / counts.length) % counts.length], 40_000 + seed);
  if (isMatch(matchStars(one, other))) matched++;
}
console.log(`${matched} of ${pairs} pairs of unrelated fields matched`);
