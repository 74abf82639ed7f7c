/** Distribution functions and quantiles of the normal, Student's t and Fisher's F distribution, to about 1e-12 (1e-10 at a million degrees of freedom). */

/** ln Gamma(x) for x > 0: Stirling's series with the argument raised above 12 (NIST DLMF 5.11.1). */
export function computeLogGamma(x: number): number {
  let shift = 0;
  let argument = x;
  while (argument < 12) shift += Math.log(argument++);
  const inverse = 1 / argument;
  const square = inverse * inverse;
  const series =
    inverse * (1 / 12 - square * (1 / 360 - square * (1 / 1260 - square * (1 / 1680 - square / 1188))));
  return (argument - 0.5) * Math.log(argument) - argument + 0.5 * Math.log(2 * Math.PI) + series - shift;
}

/** Lower tail of the normal distribution, P(Z <= z): Taylor series near the middle, continued fraction outside (DLMF 7.6.2, 7.9.1). */
export function computeNormalTail(z: number): number {
  const size = Math.abs(z);
  if (Number.isNaN(z)) return Number.NaN;
  const density = Math.exp((-size * size) / 2) / Math.sqrt(2 * Math.PI);
  if (size < 3.5) {
    let term = size;
    let sum = size;
    for (let odd = 3; term > 1e-18 * sum; odd += 2) {
      term *= (size * size) / odd;
      sum += term;
    }
    return z < 0 ? 0.5 - density * sum : 0.5 + density * sum;
  }
  let fraction = 0;
  for (let k = 120; k >= 1; k--) fraction = k / (size + fraction);
  const upper = density / (size + fraction);
  return z < 0 ? upper : 1 - upper;
}

/** z with P(Z <= z) = p: start of Abramowitz & Stegun 26.2.23, then Halley's steps. NaN outside 0..1. */
export function computeNormalQuantile(p: number): number {
  if (p === 0) return Number.NEGATIVE_INFINITY;
  if (p === 1) return Number.POSITIVE_INFINITY;
  if (!(p > 0 && p < 1)) return Number.NaN;
  if (p > 0.5) return -computeNormalQuantile(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  let z =
    -t + (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  for (let step = 0; step < 3; step++) {
    const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
    const newton = (computeNormalTail(z) - p) / density;
    z -= newton / (1 + (z * newton) / 2);
  }
  return z;
}

/** Regularised incomplete beta function I_x(a, b), a and b above 0; by the continued fraction of whichever tail converges fast. */
export function computeIncompleteBeta(x: number, a: number, b: number): number {
  if (!(x >= 0 && x <= 1)) return Number.NaN;
  if (x === 0 || x === 1) return x;
  return x > (a + 1) / (a + b + 2) ? 1 - expandBeta(1 - x, b, a) : expandBeta(x, a, b);
}

/** DLMF 8.17.22 by the modified method of Lentz (Thompson & Barnett 1986, J. Comput. Phys. 64:490). */
function expandBeta(x: number, a: number, b: number): number {
  const front = Math.exp(
    computeLogGamma(a + b) - computeLogGamma(a) - computeLogGamma(b) + a * Math.log(x) + b * Math.log1p(-x),
  );
  const tiny = 1e-300;
  let d = 1 / avoidZero(1 - ((a + b) * x) / (a + 1), tiny);
  let c = 1;
  let value = d;
  for (let m = 1; m <= 10_000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / avoidZero(1 + even * d, tiny);
    c = avoidZero(1 + even / c, tiny);
    value *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / avoidZero(1 + odd * d, tiny);
    c = avoidZero(1 + odd / c, tiny);
    value *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) break;
  }
  return (front * value) / a;
}

function avoidZero(value: number, tiny: number): number {
  return Math.abs(value) < tiny ? tiny : value;
}

/** Lower tail of Student's t distribution (DLMF 8.17; Abramowitz & Stegun 26.7.1), degrees of freedom > 0. */
export function computeStudentTail(t: number, degreesOfFreedom: number): number {
  if (t === 0) return 0.5;
  const outside = computeIncompleteBeta(
    degreesOfFreedom / (degreesOfFreedom + t * t),
    degreesOfFreedom / 2,
    0.5,
  );
  return t < 0 ? outside / 2 : 1 - outside / 2;
}

/** Upper tail of Fisher's F distribution, P(F > f), with the degrees of freedom of numerator and denominator (DLMF 8.17; A&S 26.6.2). */
export function computeFisherTail(f: number, numeratorFreedom: number, denominatorFreedom: number): number {
  if (f === Number.POSITIVE_INFINITY) return 0;
  const x = denominatorFreedom / (denominatorFreedom + numeratorFreedom * f);
  return computeIncompleteBeta(x, denominatorFreedom / 2, numeratorFreedom / 2);
}

/**
 * t with P(T <= t) = p for Student's t distribution; 0.975 gives the factor of a two-sided 95 % interval.
 * NaN where p is outside 0..1 or the degrees of freedom are not above 0; the normal quantile for infinitely many.
 */
export function computeStudentQuantile(p: number, degreesOfFreedom: number): number {
  if (!(p > 0 && p < 1) || !(degreesOfFreedom > 0)) return Number.NaN;
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) return computeNormalQuantile(p);
  if (p === 0.5) return 0;
  if (p > 0.5) return -computeStudentQuantile(1 - p, degreesOfFreedom);
  // The lower tail keeps its relative precision, so the search runs there: bracket, then halve in log scale.
  let outer = -1;
  while (computeStudentTail(outer, degreesOfFreedom) > p && outer > -1e300) outer *= 2;
  let inner = outer === -1 ? 0 : outer / 2;
  for (let step = 0; step < 200; step++) {
    const middle = (outer + inner) / 2;
    if (middle === outer || middle === inner) break;
    if (computeStudentTail(middle, degreesOfFreedom) > p) inner = middle;
    else outer = middle;
  }
  return (outer + inner) / 2;
}

/**
 * Natural logarithm of the chance that a Poisson variable of the given mean reaches `count` or more; a logarithm, for
 * the chance itself may be smaller than numbers go. 0 (certain) for a count of 0; -infinity for a mean of 0.
 */
export function computePoissonLogTail(count: number, mean: number): number {
  if (count <= 0) return 0;
  if (!(mean > 0)) return Number.NEGATIVE_INFINITY;
  if (count <= mean) {
    // 1 less the chance of fewer: the few terms below the mean, summed from the largest down.
    let below = 0;
    for (let k = count - 1; k >= 0; k--) {
      const term = Math.exp(k * Math.log(mean) - mean - computeLogGamma(k + 1));
      below += term;
      if (term < below * 1e-17) break;
    }
    return Math.log(Math.max(1 - below, Number.MIN_VALUE));
  }
  let sum = 1;
  let term = 1;
  for (let k = count + 1; term > sum * 1e-17; k++) {
    term *= mean / k;
    sum += term;
  }
  return count * Math.log(mean) - mean - computeLogGamma(count + 1) + Math.log(sum);
}
