import type { FieldPoint } from "./field-point.ts";
import { contractImage, expandSquare } from "./fourier-2d.ts";
import { samplePupil } from "./pupil.ts";

/**
 * Transfer function of the optics for one wavelength: the pupil's autocorrelation, sampled at frequencies that are
 * multiples of 1 / boxUm. Square of side 2 `reach` + 1, real and imaginary interleaved, zero frequency in the middle,
 * normalised to 1 there. Rows run downwards (array sense), as the image will.
 */
export interface OpticalTransfer {
  reach: number;
  values: Float64Array;
}

export interface PupilShape {
  focalRatio: number;
  /** Linear central obstruction, 0 to 1. */
  obstruction: number;
}

/** Frequencies up to the cut-off 1 / (lambda N), in steps of 1 / boxUm. */
export function countFrequencies(shape: PupilShape, wavelengthUm: number, boxUm: number): number {
  return Math.ceil(boxUm / (wavelengthUm * shape.focalRatio));
}

/**
 * Autocorrelates the pupil's complex amplitude by way of the image: amplitude, its square, and back. One cell of the
 * pupil's grid answers to one step 1 / boxUm of frequency, so the pupil is boxUm / (lambda N) cells wide.
 *
 * Cells carry the mean of the amplitude over the cell, whose image is the true one times sinc(x / box) sinc(y / box);
 * dividing the intensity by its square takes the grid out again.
 *
 * Source: Goodman, Introduction to Fourier Optics (2005), section 6.3 (from memory).
 */
export function computeOpticalTransfer(
  shape: PupilShape,
  point: FieldPoint,
  wavelengthUm: number,
  boxUm: number,
): OpticalTransfer {
  const cells = boxUm / (wavelengthUm * shape.focalRatio);
  const reach = countFrequencies(shape, wavelengthUm, boxUm);
  let side = 16;
  while (side < 2 * reach + 2) side *= 2;
  const pupil = samplePupil({ ...shape, wavelengthUm, cells }, point);
  const amplitude = expandSquare(pupil.amplitude, pupil.half, side, 0, side);
  const undo = new Float64Array(side);
  for (let i = 0; i < side; i++) {
    const x = (i < side / 2 ? i : i - side) / side;
    undo[i] = x === 0 ? 1 : ((Math.PI * x) / Math.sin(Math.PI * x)) ** 2;
  }
  const intensity = new Float64Array(side * side);
  for (let row = 0, at = 0; row < side; row++) {
    for (let column = 0; column < side; column++, at++) {
      intensity[at] = (amplitude[2 * at] ** 2 + amplitude[2 * at + 1] ** 2) * undo[row] * undo[column];
    }
  }
  const values = contractImage(intensity, side, reach);
  const norm = 1 / values[2 * (reach * (2 * reach + 1) + reach)];
  for (let i = 0; i < values.length; i++) values[i] *= norm;
  return { reach, values };
}
