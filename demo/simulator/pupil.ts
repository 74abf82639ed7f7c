import type { FieldPoint } from "./field-point.ts";
import type { PupilShape } from "./optical-transfer.ts";

export interface PupilGrid extends PupilShape {
  wavelengthUm: number;
  /** Width of the pupil in cells; need not be whole. */
  cells: number;
}

/** Parts into which a cell at the rim is split along each axis to find how much of it is open. */
const rimParts = 16;

/**
 * Complex amplitude over the pupil, averaged over each cell: a square of side 2 `half` + 1, real and imaginary
 * interleaved, pupil's centre in its middle. Rows run downwards, so the meridian's angle is turned over here.
 *
 * Wavefront at pupil position (t along the meridian, s across it, rim at 1), um:
 * z_T t2 / (8 N2) + z_S s2 / (8 N2) + coma (t2 + s2) t + spherical (t2 + s2)2. Its gradient moves light by 2 N dW,
 * which gives blur diameters z / N: Smith, Modern Optical Engineering (2008), section 9.8.
 * The phase of a cell at the rim is that of its open part's middle. Averaging multiplies by sinc of the phase's gradient in turns per cell, so that steep wavefronts fade as they do in
 * a finer grid.
 */
export function samplePupil(grid: PupilGrid, point: FieldPoint): { half: number; amplitude: Float64Array } {
  const { cells, obstruction, focalRatio, wavelengthUm } = grid;
  const radius = cells / 2;
  const cosine = Math.cos(point.meridianRad);
  const sine = -Math.sin(point.meridianRad);
  const tangential = point.tangentialUm / (8 * focalRatio ** 2) / wavelengthUm;
  const sagittal = point.sagittalUm / (8 * focalRatio ** 2) / wavelengthUm;
  const coma = point.comaUm / wavelengthUm;
  const spherical = point.sphericalUm / wavelengthUm;
  const half = Math.ceil(radius) + 1;
  const open = tabulateOpenCells(cells, obstruction, half);
  const amplitude = new Float64Array(2 * open.share.length);
  let k = -1;
  for (let j = -half; j <= half; j++) {
    for (let i = -half; i <= half; i++) {
      k++;
      const share = open.share[k];
      if (share === 0) continue;
      const u = (i + open.offsetX[k]) / radius;
      const v = (j + open.offsetY[k]) / radius;
      const t = u * cosine + v * sine;
      const s = v * cosine - u * sine;
      const rho2 = t * t + s * s;
      const turns = tangential * t * t + sagittal * s * s + coma * rho2 * t + spherical * rho2 * rho2;
      const slopeT = (2 * tangential * t + coma * (rho2 + 2 * t * t) + 4 * spherical * rho2 * t) / radius;
      const slopeS = (2 * sagittal * s + coma * 2 * t * s + 4 * spherical * rho2 * s) / radius;
      const fade = sinc(slopeT * cosine - slopeS * sine) * sinc(slopeT * sine + slopeS * cosine);
      amplitude[2 * k] = share * fade * Math.cos(2 * Math.PI * turns);
      amplitude[2 * k + 1] = share * fade * Math.sin(2 * Math.PI * turns);
    }
  }
  return { half, amplitude };
}

/** sin(pi x) / (pi x). */
export function sinc(x: number): number {
  const a = Math.PI * x;
  return Math.abs(a) < 1e-8 ? 1 : Math.sin(a) / a;
}

/** How much of each cell of the grid lies in the open pupil, and where the middle of that part is, cells. */
interface OpenCells {
  share: Float64Array;
  offsetX: Float64Array;
  offsetY: Float64Array;
}

const known = new Map<string, OpenCells>();

/** The open cells from -half to half, row-major; kept, since all points of a frame share a few pupils. */
function tabulateOpenCells(cells: number, obstruction: number, half: number): OpenCells {
  const key = `${cells} ${obstruction}`;
  const found = known.get(key);
  if (found !== undefined) return found;
  const width = 2 * half + 1;
  const column = (): Float64Array => new Float64Array(width * width);
  const open: OpenCells = { share: column(), offsetX: column(), offsetY: column() };
  for (let k = 0; k < open.share.length; k++) {
    const [i, j] = [(k % width) - half, Math.floor(k / width) - half];
    fillOpenCell(open, k, i, j, cells / 2, (obstruction * cells) / 2);
  }
  if (known.size > 32) known.clear();
  known.set(key, open);
  return open;
}

function fillOpenCell(open: OpenCells, k: number, i: number, j: number, outer: number, inner: number): void {
  const distance = Math.hypot(i, j);
  const reach = Math.SQRT1_2;
  if (distance - reach >= outer || (inner > 0 && distance + reach <= inner)) return;
  if (distance + reach <= outer && (inner <= 0 || distance - reach >= inner)) {
    open.share[k] = 1;
    return;
  }
  let [count, sumX, sumY] = [0, 0, 0];
  for (let b = 0; b < rimParts; b++) {
    const y = (b + 0.5) / rimParts - 0.5;
    for (let a = 0; a < rimParts; a++) {
      const x = (a + 0.5) / rimParts - 0.5;
      const r2 = (i + x) ** 2 + (j + y) ** 2;
      if (r2 >= outer * outer || r2 < inner * inner) continue;
      count++;
      sumX += x;
      sumY += y;
    }
  }
  if (count === 0) return;
  open.share[k] = count / rimParts ** 2;
  open.offsetX[k] = sumX / count;
  open.offsetY[k] = sumY / count;
}
