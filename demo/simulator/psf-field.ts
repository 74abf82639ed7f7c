import type { FieldAberrations } from "./conditions.ts";
import { evaluateField } from "./field-point.ts";
import type { HalfMaximum } from "./half-maximum.ts";
import type { PointSpread, PsfMaker } from "./psf.ts";
import { measurePsfTruth, weighCubic } from "./psf-truth.ts";

/** A star image at one node of the field, laid out for drawing. */
export interface PsfNode {
  /**
   * Pixel-integrated image, one small plane for each of oversampling x oversampling offsets: plane (qy, qx) holds the
   * samples whose row and column from the centre are qy and qx modulo the oversampling.
   */
  planes: Float32Array;
  /** The middles of the planes, of side 2 middlePx + 3, packed densely: nearly all of the drawing reads only these. */
  middles: Float32Array;
  /** Middle of the image as it falls on the sensor, for the truth. */
  core: Float32Array;
  truth: HalfMaximum | null;
}

/** Star images over a sensor on a regular grid of nodes, between which they are blended. */
export interface PsfField {
  columns: number;
  rows: number;
  stepXPx: number;
  stepYPx: number;
  oversampling: number;
  /** Drawn square reaches this far from the star's pixel, px. */
  halfPx: number;
  /** The middle, where the image is above 0.3 % of its peak at some node, reaches this far, px. */
  middlePx: number;
  /** Side of a plane: 2 halfPx + 3. */
  planeSide: number;
  coreSide: number;
  nodes: PsfNode[];
  /** Largest ring mean over the nodes of the pixel-integrated image at whole radii in px, 0 .. halfPx. */
  profile: Float64Array;
}

/** Nodes of a grid that share in a point, and their shares, which sum to 1. */
export interface NodeShares {
  nodes: number[];
  shares: number[];
}

/** Distance of nodes, mm: keeps the blend's width within 0.1 % of the exact one for the strongest demo aberrations. */
const nodeStepMm = 2.2;

/** Computes the node images of a sensor. A field that is the same everywhere gets a single node. */
export function computePsfField(
  maker: PsfMaker,
  field: FieldAberrations,
  sensor: { widthPx: number; heightPx: number; pixelPitchUm: number },
  focusShiftUm: number,
): PsfField {
  const pitchMm = sensor.pixelPitchUm / 1000;
  const varies = [field.tiltX, field.tiltY, field.curvature, field.astigmatism, field.comaUmPerMm ?? 0];
  const uniform = varies.every((term) => term === 0);
  const count = (px: number): number =>
    uniform ? 1 : Math.max(4, Math.ceil((px * pitchMm) / nodeStepMm) + 1);
  const [columns, rows] = [count(sensor.widthPx), count(sensor.heightPx)];
  const stepXPx = uniform ? 1 : (sensor.widthPx - 1) / (columns - 1);
  const stepYPx = uniform ? 1 : (sensor.heightPx - 1) / (rows - 1);
  const shifted = { ...field, defocusUm: field.defocusUm + focusShiftUm };
  const images: PointSpread[] = [];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const xMm = uniform ? 0 : (column * stepXPx - (sensor.widthPx - 1) / 2) * pitchMm;
      const yMm = uniform ? 0 : -(row * stepYPx - (sensor.heightPx - 1) / 2) * pitchMm;
      images.push(maker.makePsf(evaluateField(shifted, xMm, yMm)));
    }
  }
  const { oversampling, side } = images[0];
  const halfPx = Math.floor((side / 2 - oversampling - 2) / oversampling) - 2;
  const planeSide = 2 * halfPx + 3;
  const truths = images.map(measurePsfTruth);
  const widest = Math.max(2, ...truths.map((truth) => (truth === null ? 0 : Math.max(...truth.radii))));
  const offset = Math.max(0, ...truths.map((truth) => (truth === null ? 0 : Math.hypot(truth.x, truth.y))));
  const coreSide = Math.min(side, 2 * (Math.ceil(1.4 * widest + offset) + 6));
  const profile = new Float64Array(halfPx + 1);
  for (const image of images) raiseProfile(profile, image);
  const edge = profile.findIndex((value) => value < 0.003 * profile[0]);
  const middlePx = edge < 0 ? halfPx : Math.min(halfPx, Math.max(4, edge));
  const nodes = images.map((image, k) => ({
    planes: splitIntoPlanes(image, planeSide),
    middles: splitIntoPlanes(image, 2 * middlePx + 3),
    core: cutCore(image, coreSide),
    truth: truths[k],
  }));
  return {
    columns,
    rows,
    stepXPx,
    stepYPx,
    oversampling,
    halfPx,
    middlePx,
    planeSide,
    coreSide,
    nodes,
    profile,
  };
}

/** Which nodes share in a star at (xPx, yPx): cubics through 4 x 4 nodes, or straight lines between 2 x 2. */
export function shareNodes(
  field: PsfField,
  xPx: number,
  yPx: number,
  order: "cubic" | "linear" = "cubic",
): NodeShares {
  if (field.nodes.length === 1) return { nodes: [0], shares: [1] };
  const place = (at: number, count: number): { first: number; weights: readonly number[] } => {
    if (order === "linear") {
      const first = Math.max(0, Math.min(count - 2, Math.floor(at)));
      return { first, weights: [1 - (at - first), at - first] };
    }
    const first = Math.max(0, Math.min(count - 4, Math.floor(at) - 1));
    return { first, weights: weighCubic(at - first - 1) };
  };
  const across = place(xPx / field.stepXPx, field.columns);
  const down = place(yPx / field.stepYPx, field.rows);
  const nodes: number[] = [];
  const shares: number[] = [];
  down.weights.forEach((weightY, j) => {
    across.weights.forEach((weightX, i) => {
      if (weightX * weightY === 0) return;
      nodes.push((down.first + j) * field.columns + across.first + i);
      shares.push(weightX * weightY);
    });
  });
  return { nodes, shares };
}

function splitIntoPlanes(image: PointSpread, planeSide: number): Float32Array {
  const { oversampling, side, integrated } = image;
  // One row more than needed: drawing reads a few samples past the end, which it does not use.
  const planes = new Float32Array(oversampling ** 2 * planeSide ** 2 + planeSide);
  const half = (planeSide - 1) / 2;
  let to = 0;
  for (let qy = 0; qy < oversampling; qy++) {
    for (let qx = 0; qx < oversampling; qx++) {
      for (let j = -half; j <= half; j++) {
        const row = side / 2 + j * oversampling + qy;
        for (let i = -half; i <= half; i++, to++) {
          const column = side / 2 + i * oversampling + qx;
          if (row >= 0 && row < side && column >= 0 && column < side)
            planes[to] = integrated[row * side + column];
        }
      }
    }
  }
  return planes;
}

function cutCore(image: PointSpread, coreSide: number): Float32Array {
  const core = new Float32Array(coreSide * coreSide);
  const first = (image.side - coreSide) / 2;
  for (let row = 0; row < coreSide; row++) {
    const from = (row + first) * image.side + first;
    core.set(image.onSensor.subarray(from, from + coreSide), row * coreSide);
  }
  return core;
}

function raiseProfile(profile: Float64Array, image: PointSpread): void {
  const angles = 48;
  for (let r = 0; r < profile.length; r++) {
    let sum = 0;
    for (let k = 0; k < angles; k++) {
      const angle = (2 * Math.PI * k) / angles;
      const column = Math.round(image.side / 2 + r * image.oversampling * Math.cos(angle));
      const row = Math.round(image.side / 2 + r * image.oversampling * Math.sin(angle));
      sum += image.integrated[row * image.side + column];
    }
    profile[r] = Math.max(profile[r], sum / angles);
  }
}
