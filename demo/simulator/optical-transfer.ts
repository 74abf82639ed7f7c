import type { FieldPoint } from "./field-point.ts";
import { planFourier } from "./fourier-2d.ts";
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

/**
 * Autocorrelates the pupil's complex amplitude by way of the image: amplitude, its square, and back. One cell of the
 * pupil's grid answers to one step 1 / boxUm of frequency, so the pupil is boxUm / (lambda N) cells wide and
 * `reach` is the cut-off 1 / (lambda N) rounded up.
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
  const reach = Math.ceil(cells);
  let side = 16;
  while (side < 2 * reach + 2) side *= 2;
  const field = samplePupil({ ...shape, wavelengthUm, cells, side }, point);
  const plan = planFourier(side);
  const half = Math.ceil(cells / 2) + 1;
  plan.transform(field, false, { filled: { first: -half, count: 2 * half + 1 } });
  const undo = new Float64Array(side);
  for (let i = 0; i < side; i++) {
    const x = (i < side / 2 ? i : i - side) / side;
    undo[i] = x === 0 ? 1 : (Math.PI * x) / Math.sin(Math.PI * x);
  }
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const at = 2 * (row * side + column);
      const scale = (undo[row] * undo[column]) ** 2;
      field[at] = (field[at] ** 2 + field[at + 1] ** 2) * scale;
      field[at + 1] = 0;
    }
  }
  plan.transform(field, true, { columns: { first: -reach, count: 2 * reach + 1 } });
  return cutMiddle(field, side, reach);
}

function cutMiddle(field: Float64Array, side: number, reach: number): OpticalTransfer {
  const width = 2 * reach + 1;
  const values = new Float64Array(2 * width * width);
  const norm = 1 / field[0];
  for (let ky = -reach; ky <= reach; ky++) {
    const row = (ky + side) % side;
    for (let kx = -reach; kx <= reach; kx++) {
      const from = 2 * (row * side + ((kx + side) % side));
      const to = 2 * ((ky + reach) * width + kx + reach);
      values[to] = field[from] * norm;
      values[to + 1] = field[from + 1] * norm;
    }
  }
  return { reach, values };
}
