/**
 * Runs the diagnosis on simulated cases of known truth and writes what it believed and what is true, one line a verdict.
 * Usage: npx tsx collect-verdicts.ts CASES.jsonl FIRST_STAR_SEED OUT.jsonl
 */
import { readFileSync, writeFileSync } from "node:fs";
import { chooseLimits, classifySpacing, judgeField } from "../../../lib/field/diagnose.ts";
import { toEllipticity } from "../../../lib/field/debias-ellipticity.ts";
import { fitField } from "../../../lib/field/fit-field.ts";
import { CORNERS } from "../../../lib/field/geometry.ts";
import { classifyCorner, listCornerPlaces, turnToRadius } from "../../../lib/field/judge-corners.ts";
import {
  drawStarTable,
  makeOptics,
  makeShapeReader,
  type SimulatedField,
} from "../../field/simulate-tables.ts";

export const starCounts = [40, 100, 300, 1000, 5000];

export interface CollectedVerdict {
  seed: number;
  stars: number;
  kind: "spacing" | "tilt" | "tracking" | "corner";
  likeliest: string;
  belief: number;
  confidence: number;
  said: string;
  truth: string;
  /** Size of what is judged over its limit (corners: true ellipticity). */
  size: number;
}

type StoredCase = SimulatedField & { seed: number; nodes: number[][] };

export function collectVerdicts(stored: StoredCase, stars: number, starSeed: number): CollectedVerdict[] {
  const optics = makeOptics(stored.train, "tooClose");
  const shapes = makeShapeReader(stored.nodes, stored.train);
  const table = drawStarTable(shapes, optics, { stars, seed: starSeed });
  const fit = fitField([{ stars: table, focusOffsetUm: 0 }], optics, { seed: starSeed });
  if ("why" in fit) throw new Error(fit.why);
  const judged = judgeField(fit, { tolerances: {}, seed: starSeed });
  const limits = chooseLimits(fit, {});
  const r = fit.problem.halfDiagonalMm;
  const { curvature = 0, tiltX = 0, tiltY = 0 } = stored.field;
  const fall = curvature * r * r;
  const across = Math.hypot(tiltX, tiltY) * 2 * r;
  const [, e1, e2] = shapes(0, 0);
  const tracking = toEllipticity(Math.hypot(e1, e2));
  const row = (
    kind: CollectedVerdict["kind"],
    verdict: { class: string; likeliest: string; belief: number; confidence: number },
    truth: string,
    size: number,
  ): CollectedVerdict => ({
    seed: stored.seed,
    stars,
    kind,
    likeliest: verdict.likeliest,
    belief: Number(verdict.belief.toFixed(4)),
    confidence: Number(verdict.confidence.toFixed(4)),
    said: verdict.class,
    truth,
    size: Number(size.toFixed(4)),
  });
  return [
    row(
      "spacing",
      judged.spacing,
      classifySpacing(fall, limits.curvatureUm),
      Math.abs(fall) / limits.curvatureUm,
    ),
    row(
      "tilt",
      judged.tilt,
      across > limits.tiltAcrossUm ? "present" : "none",
      across / limits.tiltAcrossUm,
    ),
    row(
      "tracking",
      judged.tracking,
      tracking > limits.trackingEllipticity ? "present" : "none",
      tracking / limits.trackingEllipticity,
    ),
    ...CORNERS.map((corner) => {
      const places = listCornerPlaces(corner, fit);
      let [radial, crossed] = [0, 0];
      for (const { x, y } of places) {
        const [, a, b] = shapes(x, y);
        const [along, aside] = turnToRadius(a, b, x, y);
        radial += along / places.length;
        crossed += aside / places.length;
      }
      return row(
        "corner",
        judged.corners[corner],
        classifyCorner(radial, crossed),
        toEllipticity(Math.hypot(radial, crossed)),
      );
    }),
  ];
}

const [cases, firstSeed, out] = process.argv.slice(2);
if (out !== undefined && process.argv[1].endsWith("collect-verdicts.ts")) {
  const lines: string[] = [];
  for (const line of readFileSync(cases, "utf8").trim().split("\n")) {
    const stored = JSON.parse(line) as StoredCase;
    if (stored.nodes.flat().some((value) => value === null)) continue;
    for (const stars of starCounts) {
      const seed = Number(firstSeed) + 10 * stored.seed + starCounts.indexOf(stars);
      for (const verdict of collectVerdicts(stored, stars, seed)) lines.push(JSON.stringify(verdict));
    }
  }
  writeFileSync(out, `${lines.join("\n")}\n`);
}
