/** Matches two drawn tables of 5,000 stars, and two of unrelated fields; prints what each took (seconds of a core), as JSON. */
import { isMatch, matchStars } from "../../lib/compare/match-stars.ts";
import { takeBrightest } from "../../lib/compare/sky-list.ts";
import { drawSky, drawView } from "../compare/draw-star-pair.ts";

const view = { widthPx: 6248, heightPx: 4176, errorPx: 0.2, focalPx: 4000, faintest: 10, turnDeg: 0 };
const shiftPx = { x: 0, y: 0 };
const rounds = 5;
const related: number[] = [];
const unrelated: number[] = [];
let pairs = 0;
for (let seed = 1; seed <= rounds; seed++) {
  const sky = drawSky(13_000, 1, seed);
  const a = takeBrightest(drawView(sky, { ...view, shiftPx }, 10 + seed).list, 5000);
  const turned = { ...view, focalPx: 2920, turnDeg: 37 * seed, shiftPx: { x: 150, y: -90 } };
  const b = takeBrightest(drawView(sky, turned, 20 + seed).list, 5000);
  const other = takeBrightest(drawView(drawSky(13_000, 1, 900 + seed), { ...view, shiftPx }, 30).list, 5000);
  let start = process.cpuUsage().user;
  const found = matchStars(a, b);
  related.push((process.cpuUsage().user - start) / 1e6);
  pairs = isMatch(found) ? found.pairs.length : 0;
  start = process.cpuUsage().user;
  matchStars(a, other);
  unrelated.push((process.cpuUsage().user - start) / 1e6);
}
console.log(
  JSON.stringify({
    stars: 5000,
    pairs,
    seconds: Math.min(...related),
    firstSeconds: related[0],
    unrelatedSeconds: Math.min(...unrelated),
  }),
);
