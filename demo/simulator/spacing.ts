import type { FieldAberrations } from "./conditions.ts";

/**
 * How a corrector answers to its distance from the sensor: curvature and astigmatism as straight lines in the spacing
 * error s (mm, positive: too far). All um/mm2, or um/mm2 per mm.
 */
export interface CorrectorResponse {
  curvatureAtZero: number;
  curvaturePerMm: number;
  astigmatismAtZero: number;
  astigmatismPerMm: number;
}

/**
 * The demo's reducer. Its flattest field lies 0.15 mm beyond the printed distance. With astigmatism below zero and
 * curvature that grows with s, corner stars point outwards where the sensor is too close and lie across where it is too
 * far: the common rule. All figures are invented.
 */
export const reducerR79: CorrectorResponse = {
  curvatureAtZero: -0.063,
  curvaturePerMm: 0.42,
  astigmatismAtZero: -0.09,
  astigmatismPerMm: 0.03,
};

/** The demo's flattener: gentler at its slow focal ratio. Invented. */
export const flattenerF10: CorrectorResponse = {
  curvatureAtZero: 0.02,
  curvaturePerMm: 0.2,
  astigmatismAtZero: -0.1,
  astigmatismPerMm: 0.02,
};

/**
 * The field at a spacing error, focused as one focuses at the telescope: the stars at `focusedAtMm` from the centre are
 * sharp, but for `focusErrorUm`. Tilt and centre are the set-up's own.
 */
export function deriveField(
  response: CorrectorResponse,
  spacingErrorMm: number,
  setup: {
    tiltX: number;
    tiltY: number;
    centreMm: { x: number; y: number };
    focusedAtMm: number;
    focusErrorUm: number;
  },
): FieldAberrations {
  const curvature = response.curvatureAtZero + response.curvaturePerMm * spacingErrorMm;
  return {
    defocusUm: setup.focusErrorUm - curvature * setup.focusedAtMm ** 2,
    tiltX: setup.tiltX,
    tiltY: setup.tiltY,
    curvature,
    astigmatism: response.astigmatismAtZero + response.astigmatismPerMm * spacingErrorMm,
    centreMm: setup.centreMm,
  };
}
