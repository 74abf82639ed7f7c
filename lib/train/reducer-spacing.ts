/**
 * A reducer as one thin lens in the converging beam of the telescope (Smith, Modern Optical Engineering, ch. 2; here
 * 1/d - 1/s = 1/f_R). A real corrector has several elements whose principal plane no maker states: take changes with the
 * spacing from these, absolute values only from a measurement.
 */
export interface ReducerState {
  /** Reducing factor m = 1 - d / f_R: focal length with the reducer over that without. */
  factor: number;
  /** Distance from the reducer to where the telescope alone would focus, mm. */
  objectDistanceMm: number;
  /** How far the focus moves towards the telescope, mm. */
  focusShiftMm: number;
  /** Change of focal length for each millimetre of spacing, percent; negative: more spacing, shorter focal length. */
  percentPerMm: number;
}

/**
 * @param distanceMm - from the reducer's rear principal plane to the sensor
 * @param focalLengthMm - of the reducer, above 0
 * @returns NaN throughout where the distance is not below the focal length: no image forms there
 */
export function computeReducerState(distanceMm: number, focalLengthMm: number): ReducerState {
  const factor = 1 - distanceMm / focalLengthMm;
  if (!(factor > 0) || !(distanceMm > 0)) {
    return {
      factor: Number.NaN,
      objectDistanceMm: Number.NaN,
      focusShiftMm: Number.NaN,
      percentPerMm: Number.NaN,
    };
  }
  const objectDistanceMm = distanceMm / factor;
  return {
    factor,
    objectDistanceMm,
    focusShiftMm: objectDistanceMm - distanceMm,
    percentPerMm: -100 / (focalLengthMm * factor),
  };
}

/** Focal length of the thin lens that has a given factor at a given spacing: d / (1 - m). Negative for an extender, infinite at m = 1. */
export function computeReducerFocalLength(distanceMm: number, factor: number): number {
  return distanceMm / (1 - factor);
}

/**
 * Focal length and principal plane from the factor measured at two spacings, counted from any fixed reference face:
 * m falls linearly with d.
 *
 * @returns focal length, and how far behind the reference face the principal plane lies (mm); NaN for equal spacings
 */
export function locateReducer(
  a: { spacingMm: number; factor: number },
  b: { spacingMm: number; factor: number },
): { focalLengthMm: number; principalPlaneMm: number } {
  const focalLengthMm = (b.spacingMm - a.spacingMm) / (a.factor - b.factor);
  if (!Number.isFinite(focalLengthMm) || focalLengthMm === 0) {
    return { focalLengthMm: Number.NaN, principalPlaneMm: Number.NaN };
  }
  return { focalLengthMm, principalPlaneMm: a.spacingMm - focalLengthMm * (1 - a.factor) };
}
