/**
 * Compares two tests of three frames of 3,000 stars each, as a 26-megapixel field gives them, from their tables; prints what that
 * took (seconds of a core), as JSON: all of it, and what the two field models in it take, which a build has from the trains.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { compareTests } from "../../lib/compare/compare-tests.ts";
import { type Memory, useMemory } from "../../lib/maths/remember.ts";
import { pairPlans } from "../compare/pair-plans.ts";
import { drawNight, makeSide } from "../compare/simulate-sides.ts";
import { makeShapeReader } from "../field/simulate-tables.ts";

const file = join(import.meta.dirname, "../references/compare-pairs/nodes.json");
const nodes = JSON.parse(readFileSync(file, "utf8")) as Record<keyof typeof pairPlans, number[][]>;
const [a, b] = (["nativeWellPoorAir", "reducedBadGoodAir"] as const).map((plan) => {
  const { train } = pairPlans[plan];
  const night = { seed: 70, stars: 3000, frames: 3, frameScatter: 0.02 };
  return makeSide(train, drawNight(train, makeShapeReader(nodes[plan], train), night), plan, "2026-10-03");
});
const kept = new Map<string, unknown>();
const memory: Memory = {
  keepsShort: false,
  find: (_, key) => kept.get(key),
  // What tests need by themselves is known when they are compared; the rest is what comparing costs.
  keep: (name, key, value) => void (name.startsWith("field/") && kept.set(key, value)),
};
const time = () => {
  const start = process.cpuUsage().user;
  compareTests({ id: "x", name: "x", a, b }, null);
  return (process.cpuUsage().user - start) / 1e6;
};
useMemory(memory);
const first = time();
const again = [time(), time()];
console.log(
  JSON.stringify({
    starsOfFrame: 3000,
    framesOfSide: 3,
    seconds: Math.min(...again),
    secondsWithFieldModels: first,
  }),
);
