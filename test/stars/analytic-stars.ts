/** Stars drawn from closed forms by plain sub-pixel summation: shares no code with what it checks. */
export interface AnalyticStar {
  x: number;
  y: number;
  flux: number;
  fwhmMajorPx: number;
  fwhmMinorPx: number;
  /** Counter-clockwise from +x with y up; pixel rows run down. */
  angleDeg: number;
  /** Moffat's exponent; Infinity: a Gaussian. */
  beta: number;
}

/** Light of the star in each pixel of a size x size square, row 0 at the top. */
export function drawAnalyticStar(star: AnalyticStar, size: number): Float64Array {
  const image = new Float64Array(size * size);
  const steps = star.fwhmMinorPx < 2.5 ? 12 : 6;
  const cos = Math.cos((star.angleDeg * Math.PI) / 180);
  const sin = Math.sin((star.angleDeg * Math.PI) / 180);
  const a = star.fwhmMajorPx / 2;
  const b = star.fwhmMinorPx / 2;
  const k = 2 ** (1 / star.beta) - 1;
  const light = Number.isFinite(star.beta)
    ? (u: number) => (1 + k * u) ** -star.beta
    : (u: number) => Math.exp(-Math.LN2 * u);
  const area = Number.isFinite(star.beta)
    ? (Math.PI * a * b) / (k * (star.beta - 1))
    : (Math.PI * a * b) / Math.LN2;
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      let sum = 0;
      for (let j = 0; j < steps; j++) {
        const up = -(row + (j + 0.5) / steps - 0.5 - star.y);
        for (let i = 0; i < steps; i++) {
          const right = column + (i + 0.5) / steps - 0.5 - star.x;
          const along = (right * cos + up * sin) / a;
          const across = (-right * sin + up * cos) / b;
          sum += light(along * along + across * across);
        }
      }
      image[row * size + column] = (star.flux / area) * (sum / (steps * steps));
    }
  }
  return image;
}

const parameters = ["x", "y", "flux", "logA", "logB", "angle", "background"] as const;

/**
 * Cramer-Rao bounds (one sigma) of x, of ln(fwhm) and of e1 for pixels within `radiusPx` of the middle, from the Fisher
 * matrix computed by central differences; seven free parameters, background included; variance sky + light, electrons.
 */
export function boundAnalyticStar(
  star: AnalyticStar,
  size: number,
  radiusPx: number,
  skyElectrons: number,
): { x: number; logFwhm: number; e1: number } {
  const steps = [1e-3, 1e-3, star.flux * 1e-3, 1e-3, 1e-3, 1e-2, 1];
  const shift = (index: number, by: number): Float64Array => {
    const moved = { ...star };
    if (parameters[index] === "x") moved.x += by;
    if (parameters[index] === "y") moved.y += by;
    if (parameters[index] === "flux") moved.flux += by;
    if (parameters[index] === "logA") moved.fwhmMajorPx *= Math.exp(by);
    if (parameters[index] === "logB") moved.fwhmMinorPx *= Math.exp(by);
    if (parameters[index] === "angle") moved.angleDeg += by;
    const image = drawAnalyticStar(moved, size);
    return parameters[index] === "background" ? image.map((value) => value + by) : image;
  };
  const derivatives = steps.map((step, i) => {
    const plus = shift(i, step);
    const minus = shift(i, -step);
    return plus.map((value, k) => (value - minus[k]) / (2 * step));
  });
  const model = drawAnalyticStar(star, size);
  const middle = (size - 1) / 2;
  const fisher = steps.map((_, i) =>
    steps.map((__, j) => {
      let sum = 0;
      for (let k = 0; k < model.length; k++) {
        if (Math.hypot((k % size) - middle, Math.floor(k / size) - middle) > radiusPx) continue;
        sum += (derivatives[i][k] * derivatives[j][k]) / (skyElectrons + model[k]);
      }
      return sum;
    }),
  );
  const covariance = invert(fisher);
  const spread = (weights: number[]) => {
    let variance = 0;
    weights.forEach((p, i) => {
      weights.forEach((q, j) => {
        variance += p * q * covariance[i][j];
      });
    });
    return Math.sqrt(variance);
  };
  const a2 = star.fwhmMajorPx ** 2;
  const b2 = star.fwhmMinorPx ** 2;
  const size2 = (a2 - b2) / (a2 + b2);
  const growth = (4 * a2 * b2) / (a2 + b2) ** 2;
  const twice = (2 * star.angleDeg * Math.PI) / 180;
  return {
    x: spread([1, 0, 0, 0, 0, 0, 0]),
    logFwhm: spread([0, 0, 0, 0.5, 0.5, 0, 0]),
    e1: spread([
      0,
      0,
      0,
      growth * Math.cos(twice),
      -growth * Math.cos(twice),
      (-size2 * Math.sin(twice) * Math.PI) / 90,
      0,
    ]),
  };
}

/** Gauss-Jordan with pivoting: plain and slow on purpose. */
function invert(matrix: number[][]): number[][] {
  const n = matrix.length;
  const rows = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c; r < n; r++) if (Math.abs(rows[r][c]) > Math.abs(rows[pivot][c])) pivot = r;
    [rows[c], rows[pivot]] = [rows[pivot], rows[c]];
    const scale = rows[c][c];
    rows[c] = rows[c].map((value) => value / scale);
    for (let r = 0; r < n; r++) {
      if (r === c) continue;
      const factor = rows[r][c];
      rows[r] = rows[r].map((value, k) => value - factor * rows[c][k]);
    }
  }
  return rows.map((row) => row.slice(n));
}
