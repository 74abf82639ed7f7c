/** Writes nodes.json: true shapes of the stars of test/compare/pair-plans.ts by the demo's wave optics. See README.md. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { pairPlans } from "../../compare/pair-plans.ts";
import { computeNodes } from "../../compare/simulate-sides.ts";

const nodes = Object.fromEntries(
  Object.entries(pairPlans).map(([name, plan]) => [
    name,
    computeNodes(plan).map((shape) => shape.map((value) => Number(value.toPrecision(7)))),
  ]),
);
writeFileSync(join(import.meta.dirname, "nodes.json"), `${JSON.stringify(nodes)}\n`);
