/**
 * A star's light against radius, as a table. Radius is in half-widths at half-maximum (hwhm), so that a fitted scale
 * is a half-maximum width whatever the shape: relative light is 1 at 0 and 1/2 at 1.
 */
export interface Profile {
  /** Relative light at radius i / TABLE_STEPS hwhm; zero beyond the table. */
  light: Float64Array;
  /** Derivative of the light by the radius squared, same grid. */
  slope: Float64Array;
  /** All light of the star over (peak x hwhm^2), wings beyond the table included. */
  area: number;
  /** Half-flux diameter over full width at half maximum. */
  hfdOverFwhm: number;
  /** Diameter holding 80 % of the light over full width at half maximum. */
  ee80OverFwhm: number;
  /** Half-width of the function the profile was made from, in that function's own radius. */
  halfRadius: number;
  /** Exponent of the Moffat profile that has the same light at three half-widths: describes, does not define. */
  moffatBeta: number;
}

/** Grid points a half-width: linear reading between them is good to 4e-5 of the peak (h^2/8 times the curvature). */
export const TABLE_STEPS = 64;

/** Radius of the table's end, hwhm: outside lies under 1 % of the light of a Kolmogorov star, carried as `tail`. */
export const TABLE_RADIUS = 14;

const tableLength = TABLE_RADIUS * TABLE_STEPS + 2;

/**
 * Makes a profile of a function of radius (hwhm), even and smooth at 0, which need not be normalised: it is scaled so
 * that light(0) = 1 and light(1) = 1/2. Beyond the table it is taken to fall on as it does at the table's end.
 */
export function makeProfile(lightAt: (radius: number) => number): Profile {
  const peak = lightAt(0);
  const half = findHalfRadius(lightAt, peak);
  const light = new Float64Array(tableLength);
  const slope = new Float64Array(tableLength);
  for (let i = 0; i < tableLength; i++) light[i] = lightAt((i * half) / TABLE_STEPS) / peak;
  for (let i = 1; i < tableLength - 1; i++) {
    const radius = i / TABLE_STEPS;
    slope[i] = ((light[i + 1] - light[i - 1]) * TABLE_STEPS) / 2 / (2 * radius);
  }
  // Even about 0: light = 1 + slope u + c u^2, solved from the first two steps (u = radius squared).
  const u1 = 1 / TABLE_STEPS ** 2;
  slope[0] = (16 * (light[1] - 1) - (light[2] - 1)) / (12 * u1);
  slope[tableLength - 1] = slope[tableLength - 2];
  return { light, slope, ...measureLight(light), halfRadius: half, moffatBeta: describeBeta(light) };
}

function findHalfRadius(lightAt: (radius: number) => number, peak: number): number {
  let inside = 0;
  let outside = 1;
  while (lightAt(outside) > peak / 2 && outside < 64) {
    inside = outside;
    outside *= 2;
  }
  for (let i = 0; i < 60; i++) {
    const middle = (inside + outside) / 2;
    if (lightAt(middle) > peak / 2) inside = middle;
    else outside = middle;
  }
  return (inside + outside) / 2;
}

/** Light inside growing circles by Simpson's rule on the table, with the tail of a power law beyond it. */
function measureLight(light: Float64Array): Pick<Profile, "area" | "hfdOverFwhm" | "ee80OverFwhm"> {
  const last = TABLE_RADIUS * TABLE_STEPS;
  const inside = new Float64Array(last / 2 + 1);
  const h = 1 / TABLE_STEPS;
  for (let i = 0; i + 2 <= last; i += 2) {
    const f0 = light[i] * i * h;
    const f1 = light[i + 1] * (i + 1) * h;
    const f2 = light[i + 2] * (i + 2) * h;
    inside[i / 2 + 1] = inside[i / 2] + 2 * Math.PI * (h / 3) * (f0 + 4 * f1 + f2);
  }
  const nearEnd = Math.round(0.7 * last);
  const wing = Math.log(light[nearEnd] / light[last]) / Math.log(last / nearEnd);
  // Light that falls slower than r^-2.5 would not be a star's; without light at the end there is no tail.
  const tail =
    light[last] > 0 ? (2 * Math.PI * light[last] * TABLE_RADIUS ** 2) / (Math.max(wing, 2.5) - 2) : 0;
  const area = inside[inside.length - 1] + tail;
  const radiusOf = (share: number) => {
    const target = share * area;
    let i = 1;
    while (i < inside.length - 1 && inside[i] < target) i++;
    return 2 * h * (i - 1 + (target - inside[i - 1]) / (inside[i] - inside[i - 1]));
  };
  return { area, hfdOverFwhm: radiusOf(0.5), ee80OverFwhm: radiusOf(0.8) };
}

function describeBeta(light: Float64Array): number {
  const target = light[3 * TABLE_STEPS];
  let low = 1.05;
  let high = 60;
  for (let i = 0; i < 40; i++) {
    const middle = Math.sqrt(low * high);
    if (readMoffat(9, middle) > target) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}

/** Moffat's profile (1 + (r/alpha)^2)^-beta. Source: Moffat 1969, A&A 3, 455. Valid for beta > 1. */
export function makeMoffatProfile(beta: number): Profile {
  return makeProfile((radius) => readMoffat(radius * radius, beta));
}

/** Moffat's profile at radius squared `u` in hwhm^2. */
export function readMoffat(u: number, beta: number): number {
  return Math.exp(-beta * Math.log1p((2 ** (1 / beta) - 1) * u));
}

/** The Gaussian: the limit of Moffat's profile for a large exponent. */
export function makeGaussianProfile(): Profile {
  return makeProfile((radius) => 2 ** -(radius * radius));
}
