/**
 * Makes the truths on which the diagnosis is calibrated and tested: random trains, nights and faults, drawn by the
 * simulator's wave optics. Usage: npx tsx make-cases.ts FIRST_SEED COUNT OUT.jsonl [OFFSET], the last in units of N2 um:
 * with it each case also has `offsetUm` and the shapes of a second frame, the sensor moved away by that much.
 */
import { appendFileSync } from "node:fs";
import { makeNormalRandom, makeRandom } from "../../../lib/maths/random.ts";
import { computeTrueNodes, type SimulatedField, type SimulatedTrain } from "../../field/simulate-tables.ts";

/** A case drawn from its seed; the corrector follows the common rule (astigmatism below zero). */
export function drawCase(seed: number): SimulatedField {
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const between = (lo: number, hi: number): number => lo + (hi - lo) * random();
  const focalRatio = between(4, 8);
  const apertureMm = Math.exp(between(Math.log(60), Math.log(200)));
  const obstructed = random() < 0.3;
  const fullFrame = random() < 0.35;
  const train: SimulatedTrain = {
    apertureMm,
    focalLengthMm: apertureMm * focalRatio,
    obstructionMm: obstructed ? apertureMm * between(0.25, 0.48) : 0,
    sensorPx: fullFrame ? [9576, 6388] : [6248, 4176],
    pixelPitchUm: 3.76,
  };
  const r = Math.hypot(...train.sensorPx) * 0.00376 * 0.5;
  const depth = focalRatio * focalRatio;
  const kind = random();
  const hasTilt = kind < 0.2 || kind > 0.6;
  const hasSpacing = (kind > 0.2 && kind < 0.4) || kind > 0.6;
  const hasTracking = random() < 0.4 || (kind > 0.4 && kind < 0.5);
  const curvature = (hasSpacing ? between(-6, 6) : between(-0.4, 0.4)) * depth;
  const astigmatism = -between(0.15, 1.4) * depth;
  const tiltAcross = hasTilt ? between(0.4, 6) * depth : 0;
  const direction = between(-Math.PI, Math.PI);
  const focusedAt = between(0, 0.7);
  const spread = 0.028 * r;
  return {
    train,
    field: {
      defocusUm: -curvature * focusedAt ** 2 + 0.3 * depth * normal(),
      tiltX: (tiltAcross * Math.cos(direction)) / (2 * r),
      tiltY: (tiltAcross * Math.sin(direction)) / (2 * r),
      curvature: curvature / r ** 2,
      astigmatism: astigmatism / r ** 2,
      centreMm: { x: spread * normal(), y: spread * normal() },
    },
    seeingArcsec: between(1.5, 4),
    tracking: hasTracking ? { drift: { lengthArcsec: between(0.8, 3), angleDeg: between(0, 180) } } : {},
  };
}

function listShapes(simulated: SimulatedField): number[][] {
  return computeTrueNodes(simulated).map((shape) => shape.map((value) => Number(value.toFixed(5))));
}

const [first, count, out, offset] = process.argv.slice(2);
if (out !== undefined && process.argv[1].endsWith("make-cases.ts")) {
  for (let seed = Number(first); seed < Number(first) + Number(count); seed++) {
    const simulated = drawCase(seed);
    const line: Record<string, unknown> = { seed, ...simulated, nodes: listShapes(simulated) };
    if (offset !== undefined) {
      const { train, field } = simulated;
      const offsetUm = Number(offset) * (train.focalLengthMm / train.apertureMm) ** 2;
      const moved = { ...simulated, field: { ...field, defocusUm: (field.defocusUm ?? 0) + offsetUm } };
      line.offsetUm = offsetUm;
      line.movedNodes = listShapes(moved);
    }
    appendFileSync(out, `${JSON.stringify(line)}\n`);
  }
}
