import type { Quantity } from "../maths/quantity.ts";
import type { TestResults } from "../report/results.ts";
import { isKnown } from "./words.ts";

/** The mean focal surface over the sensor, um, as a function of the place in mm. */
export interface ReliefSurface {
  height: (xMm: number, yMm: number) => number;
  from: "sweep" | "field";
  tiltAcross: Quantity;
  curvature: number;
}

/** From the sweep where there is one, else from the field model where its sign is told; null where neither is. */
export function readReliefSurface(test: TestResults): ReliefSurface | null {
  const { sweep, field } = test;
  const source = sweep ?? (field?.signKnown ? field : null);
  if (source === null) return null;
  const { defocus, tiltX, tiltY, curvature, centre } = source;
  if (!isKnown(defocus) || !isKnown(tiltX) || !isKnown(tiltY) || !isKnown(curvature)) return null;
  const x0 = isKnown(centre?.x) ? centre.x.value : 0;
  const y0 = isKnown(centre?.y) ? centre.y.value : 0;
  const [c, tx, ty] = [curvature.value, tiltX.value, tiltY.value];
  // `defocus` is the height at the sensor's centre, where the r2 term is not zero if it has a centre of its own.
  const base = defocus.value - c * (x0 * x0 + y0 * y0);
  return {
    height: (x, y) => base + tx * x + ty * y + c * ((x - x0) ** 2 + (y - y0) ** 2),
    from: sweep === null ? "field" : "sweep",
    tiltAcross: source.tiltAcross,
    curvature: c,
  };
}
