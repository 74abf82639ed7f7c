/** A straight line through points with errors in both coordinates. */
export interface YorkLine {
  intercept: number;
  slope: number;
  interceptError: number;
  slopeError: number;
  /** Weighted sum of squares of the residuals; about `degreesOfFreedom` where the errors stated are true. */
  chiSquare: number;
  degreesOfFreedom: number;
  converged: boolean;
}

const iterationsAllowed = 100;

/**
 * York's best straight line for independent errors in x and y (York 1966, Can. J. Phys. 44:1079; York, Evensen, Martinez &
 * De Basabe Delgado 2004, Am. J. Phys. 72:367, eq. 13; errors of the 2004 paper, without scaling by chi-square).
 *
 * Points with a NaN, or with a standard error that is not above 0, are left out. NaN throughout for fewer than three points
 * or equal x.
 *
 * @param xError - standard error of each x
 * @param yError - standard error of each y
 */
export function fitYorkLine(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  xError: ArrayLike<number>,
  yError: ArrayLike<number>,
): YorkLine {
  const used = Array.from({ length: x.length }, (_, index) => index).filter(
    (index) =>
      Number.isFinite(x[index]) && Number.isFinite(y[index]) && xError[index] > 0 && yError[index] > 0,
  );
  let slope = startSlope(used, x, y);
  if (used.length < 3 || !Number.isFinite(slope)) return makeUndetermined(used.length - 2);
  let converged = false;
  for (let iteration = 0; iteration < iterationsAllowed && !converged; iteration++) {
    const next = stepSlope(used, x, y, xError, yError, slope).slope;
    converged = Math.abs(next - slope) <= 1e-13 * Math.abs(next);
    slope = next;
  }
  const step = stepSlope(used, x, y, xError, yError, slope);
  const intercept = step.yMean - slope * step.xMean;
  // Eq. 13f-g: the errors follow from the adjusted points, x = mean + beta.
  const adjustedMean = step.xMean + sum(used, (i) => step.weight(i) * step.beta(i)) / step.total;
  const spread = sum(used, (i) => step.weight(i) * (step.xMean + step.beta(i) - adjustedMean) ** 2);
  return {
    intercept,
    slope,
    interceptError: Math.sqrt(1 / step.total + adjustedMean ** 2 / spread),
    slopeError: Math.sqrt(1 / spread),
    chiSquare: sum(used, (i) => step.weight(i) * (y[i] - intercept - slope * x[i]) ** 2),
    degreesOfFreedom: used.length - 2,
    converged,
  };
}

function sum(indices: readonly number[], term: (index: number) => number): number {
  return indices.reduce((total, index) => total + term(index), 0);
}

function startSlope(used: readonly number[], x: ArrayLike<number>, y: ArrayLike<number>): number {
  const [xMean, yMean] = [sum(used, (i) => x[i]) / used.length, sum(used, (i) => y[i]) / used.length];
  return sum(used, (i) => (x[i] - xMean) * (y[i] - yMean)) / sum(used, (i) => (x[i] - xMean) ** 2);
}

function stepSlope(
  used: readonly number[],
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  xError: ArrayLike<number>,
  yError: ArrayLike<number>,
  slope: number,
) {
  const weight = (i: number): number => 1 / (yError[i] ** 2 + (slope * xError[i]) ** 2);
  const total = sum(used, weight);
  const xMean = sum(used, (i) => weight(i) * x[i]) / total;
  const yMean = sum(used, (i) => weight(i) * y[i]) / total;
  const beta = (i: number): number =>
    weight(i) * ((x[i] - xMean) * yError[i] ** 2 + slope * (y[i] - yMean) * xError[i] ** 2);
  const next =
    sum(used, (i) => weight(i) * beta(i) * (y[i] - yMean)) /
    sum(used, (i) => weight(i) * beta(i) * (x[i] - xMean));
  return { slope: next, weight, total, xMean, yMean, beta };
}

function makeUndetermined(degreesOfFreedom: number): YorkLine {
  const none = Number.NaN;
  return {
    intercept: none,
    slope: none,
    interceptError: none,
    slopeError: none,
    chiSquare: none,
    degreesOfFreedom,
    converged: false,
  };
}
