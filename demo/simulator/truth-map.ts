import type { PsfField } from "./psf-field.ts";
import { weighCubic } from "./psf-truth.ts";
import { measureStarTruth, type ShapeTruth } from "./star-truth.ts";

/** Contours are traced this many times along each step between nodes. */
const tracesPerStep = 3;

/**
 * The true shape anywhere on the sensor, by cubics through contours that are traced on the drawn blend at a mesh three
 * times finer than the nodes: the blend is itself cubic between nodes, so that a trace for each star would say the same
 * (to 0.01 %, tested) at several times the cost. What is interpolated is the contour's centroid, the logarithm of its
 * area and its spin-2 elongation, all smooth where an angle is not.
 */
export function mapTruth(
  field: PsfField,
  widthPx: number,
  heightPx: number,
): (xPx: number, yPx: number) => ShapeTruth {
  if (field.nodes.length === 1) {
    const shape = measureStarTruth(field, 0, 0);
    return () => shape;
  }
  const columns = (field.columns - 1) * tracesPerStep + 1;
  const rows = (field.rows - 1) * tracesPerStep + 1;
  const [stepX, stepY] = [(widthPx - 1) / (columns - 1), (heightPx - 1) / (rows - 1)];
  const traced = new Float64Array(5 * columns * rows);
  for (let row = 0, to = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++, to += 5) {
      const shape = measureStarTruth(field, column * stepX, row * stepY);
      const [a2, b2] = [shape.fwhmMajorPx ** 2, shape.fwhmMinorPx ** 2];
      const elongation = (a2 - b2) / (a2 + b2);
      const angle = (shape.angleDeg * Math.PI) / 90;
      traced.set(
        [
          shape.dxPx,
          shape.dyPx,
          Math.log(shape.fwhmMajorPx * shape.fwhmMinorPx),
          elongation * Math.cos(angle),
          elongation * Math.sin(angle),
        ],
        to,
      );
    }
  }
  return (xPx, yPx) => {
    const across = placeCubic(xPx / stepX, columns);
    const down = placeCubic(yPx / stepY, rows);
    const sums = [0, 0, 0, 0, 0];
    for (let j = 0; j < 4; j++) {
      for (let i = 0; i < 4; i++) {
        const from = 5 * ((down.first + j) * columns + across.first + i);
        const share = across.weights[i] * down.weights[j];
        for (let k = 0; k < 5; k++) sums[k] += share * traced[from + k];
      }
    }
    return composeShape(sums);
  };
}

function placeCubic(at: number, count: number): { first: number; weights: readonly number[] } {
  const first = Math.max(0, Math.min(count - 4, Math.floor(at) - 1));
  return { first, weights: weighCubic(at - first - 1) };
}

function composeShape([dxPx, dyPx, logArea, e1, e2]: readonly number[]): ShapeTruth {
  const elongation = Math.hypot(e1, e2);
  const ratio = ((1 + elongation) / (1 - elongation)) ** 0.25;
  const mean = Math.exp(logArea / 2);
  return {
    dxPx,
    dyPx,
    fwhmMajorPx: mean * ratio,
    fwhmMinorPx: mean / ratio,
    angleDeg: ((Math.atan2(e2, e1) * 90) / Math.PI + 180) % 180,
  };
}
