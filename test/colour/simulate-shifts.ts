import type { ShiftStars, ShiftUnits } from "../../lib/colour/shift-model.ts";
import { makeNormal, makeUniform } from "../stars/draw-stars.ts";

/** A 23.5 x 15.7 mm sensor. */
export const sensor: ShiftUnits = {
  widthMm: 23.5,
  heightMm: 15.7,
  halfDiagonalMm: Math.hypot(23.5, 15.7) / 2,
};

export interface SimulatedShift {
  seed: number;
  stars: number;
  frames?: number;
  /** um at the corner: linear and cubic. */
  linear?: number;
  cubic?: number;
  shift?: { x: number; y: number };
  /** um for one magnitude of star colour, at the corner and of the whole field along y. */
  perColour?: { lateral: number; shiftY: number };
  /** Scatter of each component, um: of each frame's place, and of the star itself in all frames alike. */
  noiseUm?: number;
  starNoiseUm?: number;
  /** Standard deviation of each frame's own scale, um at the corner. */
  frameScaleUm?: number;
  /** Share of rows that are matched with another star, some pixels away. */
  mismatched?: number;
  /** Each frame pointed by itself: shift and turn (um at the corner) and dither bend (um). */
  pointing?: boolean;
}

/** Stars strewn evenly over the sensor, errors known to within a factor that differs from star to star. */
export function simulateShifts(wanted: SimulatedShift): ShiftStars {
  const uniform = makeUniform(wanted.seed);
  const normal = makeNormal(uniform);
  const frames = wanted.frames ?? 1;
  const noise = wanted.noiseUm ?? 0.2;
  const columns: Record<string, number[]> = {};
  const push = (values: Record<string, number>): void => {
    for (const [name, value] of Object.entries(values)) {
      columns[name] ??= [];
      columns[name].push(value);
    }
  };
  const own = Array.from({ length: frames }, () => ({
    scale: (wanted.frameScaleUm ?? 0) * normal(),
    x: wanted.pointing ? 20 * normal() : 0,
    y: wanted.pointing ? 20 * normal() : 0,
    turn: wanted.pointing ? 2 * normal() : 0,
    bend: wanted.pointing ? 0.5 * normal() : 0,
  }));
  for (let star = 0; star < wanted.stars; star++) {
    const xMm = (uniform() - 0.5) * sensor.widthMm;
    const yMm = (uniform() - 0.5) * sensor.heightMm;
    const [u, v] = [xMm / sensor.halfDiagonalMm, yMm / sensor.halfDiagonalMm];
    const colour = 0.5 * normal();
    const error = noise * (0.5 + uniform());
    const [starX, starY] = [(wanted.starNoiseUm ?? 0) * normal(), (wanted.starNoiseUm ?? 0) * normal()];
    for (let frame = 0; frame < frames; frame++) {
      const { scale, x, y, turn, bend } = own[frame];
      const radial =
        (wanted.linear ?? 0) +
        (wanted.cubic ?? 0) * (u * u + v * v) +
        (wanted.perColour?.lateral ?? 0) * colour +
        scale;
      const wrong = uniform() < (wanted.mismatched ?? 0) ? 1 : 0;
      push({
        star,
        frame,
        xMm,
        yMm,
        dxUm:
          radial * u +
          (wanted.shift?.x ?? 0) +
          x -
          turn * v +
          bend * u * u +
          error * normal() +
          starX +
          wrong * 7 * normal(),
        dyUm:
          radial * v +
          (wanted.shift?.y ?? 0) +
          (wanted.perColour?.shiftY ?? 0) * colour +
          y +
          turn * u +
          bend * u * v +
          error * normal() +
          starY +
          wrong * 7 * normal(),
        errorUm: error,
        colour,
      });
    }
  }
  const real = (name: string): Float64Array => Float64Array.from(columns[name] ?? []);
  const whole = (name: string): Int32Array => Int32Array.from(columns[name] ?? []);
  const unmeasured = (): Float64Array => new Float64Array(columns.star.length).fill(Number.NaN);
  return {
    star: whole("star"),
    frame: whole("frame"),
    xMm: real("xMm"),
    yMm: real("yMm"),
    dxUm: real("dxUm"),
    dyUm: real("dyUm"),
    errorUm: real("errorUm"),
    colour: real("colour"),
    leanXUm: unmeasured(),
    leanYUm: unmeasured(),
    leanErrorUm: unmeasured(),
  };
}
