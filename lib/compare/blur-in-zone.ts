import { evaluateFoci, evaluateShape, type NightBlur, TERM, TERMS } from "../field/field-model.ts";
import { median } from "../maths/statistics.ts";

/** A region of the sensor as the field model sees it: places of some of its stars, and what surrounds them. */
export interface ModelledZone {
  xMm: readonly number[];
  yMm: readonly number[];
}

/** What holds for every star of a frame: the optics' focal ratio and where the frame was focused. */
export interface ModelledFrame {
  focalRatio: number;
  focusOffsetUm: number;
}

const shape = new Float64Array(3);

/** The field with all heights of its focal surface (and coma's blur) `factor` times as large. */
function scaleField(field: Float64Array, factor: number): Float64Array {
  const scaled = Float64Array.from(field);
  for (const term of [TERM.defocus, TERM.tiltX, TERM.tiltY, TERM.curvature, TERM.astigmatism])
    scaled[term] *= factor;
  scaled[TERM.coma] *= factor * factor;
  return scaled;
}

/** Median FWHM (um) that the model gives the region's stars, its aberrations `factor` times as strong. */
export function modelWidth(
  zone: ModelledZone,
  field: Float64Array,
  factor: number,
  night: NightBlur,
  { focalRatio, focusOffsetUm }: ModelledFrame,
): number {
  const scaled = factor === 1 ? field : scaleField(field, factor);
  const widths = zone.xMm.map((x, k) => {
    evaluateShape(scaled, night, focusOffsetUm * factor, focalRatio, x, zone.yMm[k], shape, 0);
    return shape[0];
  });
  return Math.exp(median(widths));
}

/**
 * Median over the region of the optics' geometric blur, um: root mean square over the two axes of the diameter to which
 * the light cone spreads, |z| / N, with coma's share.
 */
export function modelBlurDiameter(
  zone: ModelledZone,
  field: Float64Array,
  { focalRatio, focusOffsetUm }: ModelledFrame,
): number {
  const diameters = zone.xMm.map((x, k) => {
    const y = zone.yMm[k];
    const { tangentialUm, sagittalUm } = evaluateFoci(field, focusOffsetUm, x, y);
    const r2 = (x - field[TERM.centreX]) ** 2 + (y - field[TERM.centreY]) ** 2;
    const squares = (tangentialUm ** 2 + sagittalUm ** 2) / focalRatio ** 2 + 4 * field[TERM.coma] * r2;
    return Math.sqrt(squares / 2);
  });
  return median(diameters);
}

/** Nothing is fitted to widths beyond this many times that in focus: the table of widths grows in proportion from there. */
const largestWidening = 12;

/**
 * Factor on the field's aberrations at which the region's stars have the median width `targetUm`; 0 where the target is
 * not wider than a star in focus. Squares of widths grow about in proportion to the square of the blur, so a few secant
 * steps in the squares settle it to 1e-3.
 */
export function solveBlurFactor(
  zone: ModelledZone,
  field: Float64Array,
  targetUm: number,
  night: NightBlur,
  frame: ModelledFrame,
): number {
  const focused = Math.exp(night.lnWidth);
  const wanted = Math.min(targetUm, largestWidening * focused) ** 2 - focused ** 2;
  if (!(wanted > 0)) return 0;
  // Start where the blur is about as wide as the star, so that a nearly perfect field does not hide its pattern.
  const diameter = modelBlurDiameter(zone, field, frame);
  let factor = diameter > 0 ? Math.min(1e6, Math.max(1, (0.5 * focused) / diameter)) : 0;
  if (factor === 0) return 0;
  for (let step = 0; step < 8; step++) {
    const reached = modelWidth(zone, field, factor, night, frame) ** 2 - focused ** 2;
    if (!(reached > 0)) {
      factor *= 2;
      continue;
    }
    const next = factor * Math.sqrt(wanted / reached);
    if (Math.abs(next / factor - 1) < 1e-3) return next;
    factor = next;
  }
  return factor;
}

/** Shared terms of a field that has nothing but defocus. */
export function makeDefocusField(defocusUm: number): Float64Array {
  const field = new Float64Array(TERMS);
  field[TERM.defocus] = defocusUm;
  return field;
}
