/** Stars of two channels paired, one row a star and frame; columns of equal length. */
export interface ShiftStars {
  /** Names the star: rows of one star in several frames share it. */
  star: Int32Array;
  /** Which pair of star tables the row is from, 0, 1 ... */
  frame: Int32Array;
  /** Place on the sensor, mm from its centre, x right, y up. */
  xMm: Float64Array;
  yMm: Float64Array;
  /** Place in the one channel less that in the other, um. */
  dxUm: Float64Array;
  dyUm: Float64Array;
  /** Uncertainty of each component from the star fits, um. */
  errorUm: Float64Array;
  /** The star's colour, mag, blue less red, or NaN where it is not known. */
  colour: Float64Array;
  /** By how much the light's mean places differ more than the fitted ones, with its error, um; NaN where not measured. */
  leanXUm: Float64Array;
  leanYUm: Float64Array;
  leanErrorUm: Float64Array;
}

/** The rows for which `wanted` holds. */
export function takeRows(stars: ShiftStars, wanted: (row: number) => boolean): ShiftStars {
  const keep = (_: number, row: number): boolean => wanted(row);
  return {
    star: stars.star.filter(keep),
    frame: stars.frame.filter(keep),
    xMm: stars.xMm.filter(keep),
    yMm: stars.yMm.filter(keep),
    dxUm: stars.dxUm.filter(keep),
    dyUm: stars.dyUm.filter(keep),
    errorUm: stars.errorUm.filter(keep),
    colour: stars.colour.filter(keep),
    leanXUm: stars.leanXUm.filter(keep),
    leanYUm: stars.leanYUm.filter(keep),
    leanErrorUm: stars.leanErrorUm.filter(keep),
  };
}

/** Which terms a fit has; what few stars cannot carry is left out. */
export interface ShiftTerms {
  /** Frames of their own pointing: each has its own shift and turn (and bend of the field under a dither). */
  ownPointing: boolean;
  cubic: boolean;
  /** Unequal stretch along two directions: differential refraction, a tilted element. */
  shear: boolean;
  /** All quadratic terms: what a dither makes of distortion, and of a centre that is not the sensor's. */
  quadratic: boolean;
  colour: boolean;
}

export interface ShiftDesign {
  columns: number;
  /** Index of a term's first column, -1 where the fit is without it. */
  radial: number;
  cubic: number;
  shear: number;
  colourRadial: number;
  colourShift: number;
  /** Two columns for the shift (x, y); with pointings of their own those of frame 0, and so many columns on the next. */
  shift: number;
  turn: number;
  quadratic: number;
  perFrame: number;
  frames: number;
}

/** Where each term's columns lie. */
export function layOutDesign(terms: ShiftTerms, frames: number): ShiftDesign {
  let next = 0;
  const take = (wanted: boolean, count: number): number => {
    if (!wanted) return -1;
    next += count;
    return next - count;
  };
  const radial = take(true, 1);
  const cubic = take(terms.cubic, 1);
  const shear = take(terms.shear, 2);
  const colourRadial = take(terms.colour, 1);
  const colourShift = take(terms.colour, 2);
  const shared = next;
  const shift = take(true, 2);
  const turn = take(terms.ownPointing, 1);
  const quadratic = take(terms.quadratic, 6);
  const perFrame = terms.ownPointing ? next - shared : 0;
  const columns = terms.ownPointing ? shared + perFrame * frames : next;
  return {
    columns,
    radial,
    cubic,
    shear,
    colourRadial,
    colourShift,
    shift,
    turn,
    quadratic,
    perFrame,
    frames,
  };
}

/** The sensor that the terms are counted on, mm. */
export interface ShiftUnits {
  halfDiagonalMm: number;
  widthMm: number;
  heightMm: number;
}

/**
 * The two rows (x, then y) of a star's shift: radial a1 r + a3 r3, shear, what the star's colour adds along the radius and
 * to the shift of the whole field, the shift itself, a turn, and quadratic terms. Radii in half-diagonals, so that each
 * coefficient is in um at the corner.
 */
export function writeRows(
  design: ShiftDesign,
  units: ShiftUnits,
  star: { xMm: number; yMm: number; colour: number; frame: number },
  rowX: Float64Array,
  rowY: Float64Array,
): void {
  rowX.fill(0);
  rowY.fill(0);
  const [x, y] = [star.xMm / units.halfDiagonalMm, star.yMm / units.halfDiagonalMm];
  const set = (column: number, alongX: number, alongY: number): void => {
    rowX[column] = alongX;
    rowY[column] = alongY;
  };
  const r2 = x * x + y * y;
  set(design.radial, x, y);
  if (design.cubic >= 0) set(design.cubic, x * r2, y * r2);
  if (design.shear >= 0) {
    set(design.shear, x, -y);
    set(design.shear + 1, y, x);
  }
  if (design.colourRadial >= 0) {
    set(design.colourRadial, star.colour * x, star.colour * y);
    set(design.colourShift, star.colour, 0);
    set(design.colourShift + 1, 0, star.colour);
  }
  const own = star.frame * design.perFrame;
  set(design.shift + own, 1, 0);
  set(design.shift + own + 1, 0, 1);
  if (design.turn >= 0) set(design.turn + own, -y, x);
  if (design.quadratic < 0) return;
  // Less their mean over the sensor, so that the constant stays the shift of the field as a whole.
  const [meanX2, meanY2] = [units.widthMm, units.heightMm].map(
    (side) => (side / units.halfDiagonalMm) ** 2 / 12,
  );
  [x * x - meanX2, x * y, y * y - meanY2].forEach((term, k) => {
    set(design.quadratic + own + 2 * k, term, 0);
    set(design.quadratic + own + 2 * k + 1, 0, term);
  });
}
