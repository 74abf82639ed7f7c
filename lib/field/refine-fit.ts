import { factorCholesky, solveCholesky } from "../maths/linear.ts";
import { computeCost, listPulls, weighSamples } from "./field-cost.ts";
import { computeJacobian } from "./field-jacobian.ts";
import { NIGHTS, TERM, TERMS } from "./field-model.ts";
import { computeResiduals, countParameters, type FieldProblem, placeNight } from "./field-problem.ts";

/** A place in the space of parameters and how well it agrees with the samples. */
export interface FittedPoint {
  parameters: Float64Array;
  residuals: Float64Array;
  cost: number;
}

export function evaluatePoint(problem: FieldProblem, parameters: Float64Array): FittedPoint {
  const residuals = computeResiduals(problem, parameters);
  return { parameters, residuals, cost: computeCost(problem, parameters, residuals) };
}

/**
 * Gauss-Newton matrix and gradient of half the cost, row-major; `weights` one per sample. A frame's samples answer to the
 * shared terms and to the frame's own only, so each frame is summed over these alone.
 */
export function accumulateNormal(
  problem: FieldProblem,
  parameters: Float64Array,
  residuals: Float64Array,
  jacobian: Float64Array[],
  weights: Float64Array,
): { matrix: Float64Array; gradient: Float64Array } {
  const size = countParameters(problem);
  const matrix = new Float64Array(size * size);
  const gradient = new Float64Array(size);
  const pulls = listPulls(problem, parameters);
  const weighted = new Float64Array(residuals.length);
  let start = 0;
  problem.frames.forEach(({ samples }, f) => {
    const end = start + 3 * samples.count.length;
    const active = listActive(pulls, f);
    active.forEach((a, at) => {
      const column = jacobian[a];
      for (let i = start; i < end; i++) weighted[i] = column[i] * weights[(i / 3) | 0];
      let pull = 0;
      for (let i = start; i < end; i++) pull += weighted[i] * residuals[i];
      gradient[a] += pull;
      for (let other = 0; other <= at; other++) {
        const b = active[other];
        const second = jacobian[b];
        let sum = 0;
        for (let i = start; i < end; i++) sum += weighted[i] * second[i];
        matrix[a * size + b] += sum;
      }
    });
    start = end;
  });
  for (let a = 0; a < size; a++) {
    for (let b = 0; b < a; b++) matrix[b * size + a] = matrix[a * size + b];
    // A held term gets a stiff diagonal, so that it does not move and the matrix keeps its inverse.
    const held = Number.isNaN(pulls[a]);
    matrix[a * size + a] += held ? 1e12 : pulls[a];
    gradient[a] += held ? 0 : parameters[a] * pulls[a];
  }
  return { matrix, gradient };
}

/** Parameters that frame f's samples answer to and that are not held, in order. */
export function listActive(pulls: Float64Array, f: number): number[] {
  const own = placeNight(f);
  const all = [
    ...Array.from({ length: TERMS }, (_, k) => k),
    ...Array.from({ length: NIGHTS }, (_, k) => own + k),
  ];
  return all.filter((k) => !Number.isNaN(pulls[k]));
}

/** Solves (matrix + damping diag(matrix)) step = -gradient; null where it has no inverse. */
export function solveStep(
  matrix: Float64Array,
  gradient: Float64Array,
  damping: number,
): Float64Array | null {
  const size = gradient.length;
  const damped = Float64Array.from(matrix);
  for (let k = 0; k < size; k++) {
    // A term to which nothing answers (a fit started in perfect focus) must still have an inverse.
    damped[k * size + k] = damped[k * size + k] * (1 + damping) + 1e-12;
  }
  const factor = factorCholesky(damped, size);
  return factor === null ? null : solveCholesky(factor, gradient).map((value) => -value);
}

/** Keeps parameters where the model has a meaning: a coma that adds blur, elongations below one. */
function holdWithin(parameters: Float64Array): Float64Array {
  parameters[TERM.coma] = Math.max(0, parameters[TERM.coma]);
  for (let k = TERMS; k < parameters.length; k += NIGHTS) {
    parameters[k + 1] = Math.max(-0.8, Math.min(0.8, parameters[k + 1]));
    parameters[k + 2] = Math.max(-0.8, Math.min(0.8, parameters[k + 2]));
  }
  return parameters;
}

/**
 * Levenberg's and Marquardt's descent (Levenberg 1944, Marquardt 1963) with Huber's weights renewed at each step. Stops
 * after `passes`, or when a step lowers the cost by less than `least`.
 */
export function refineFit(
  problem: FieldProblem,
  start: Float64Array,
  passes: number,
  least = 0.003,
): FittedPoint {
  let point = evaluatePoint(problem, holdWithin(Float64Array.from(start)));
  let damping = 0.01;
  for (let pass = 0; pass < passes; pass++) {
    const jacobian = computeJacobian(problem, point.parameters);
    const { matrix, gradient } = accumulateNormal(
      problem,
      point.parameters,
      point.residuals,
      jacobian,
      weighSamples(point.residuals),
    );
    let gained = 0;
    for (let attempt = 0; attempt < 6; attempt++) {
      const step = solveStep(matrix, gradient, damping);
      if (step !== null) {
        const moved = holdWithin(point.parameters.map((value, k) => value + step[k]));
        const next = evaluatePoint(problem, moved);
        if (next.cost < point.cost) {
          gained = point.cost - next.cost;
          point = next;
          damping = Math.max(damping / 5, 1e-7);
          break;
        }
      }
      damping = Math.min(damping * 6, 1e8);
    }
    if (gained < least) break;
  }
  return point;
}
