import type { SidePlan } from "./simulate-sides.ts";
import { native, reduced } from "./simulate-sides.ts";

const wellSet = {
  curvature: 0.01,
  astigmatism: -0.04,
  tiltX: 0.3,
  tiltY: -0.4,
  defocusUm: 2,
  centreMm: { x: 0.4, y: -0.3 },
};
const badlySpaced = {
  curvature: -0.25,
  astigmatism: -0.08,
  tiltX: 0.6,
  tiltY: -0.5,
  defocusUm: 8,
  centreMm: { x: 0.4, y: -0.3 },
};

/** Two configurations of one telescope, each well set and badly spaced, under seeing of 1.9 and 2.6 arcsec. */
export const pairPlans = {
  nativeWellPoorAir: { train: native, field: wellSet, seeingArcsec: 2.6, jitterArcsec: 0.4 },
  reducedBadGoodAir: { train: reduced, field: badlySpaced, seeingArcsec: 1.9, jitterArcsec: 0.4 },
  nativeBadGoodAir: {
    train: native,
    field: { ...badlySpaced, curvature: -0.45 },
    seeingArcsec: 1.9,
    jitterArcsec: 0.4,
  },
  reducedWellPoorAir: { train: reduced, field: wellSet, seeingArcsec: 2.6, jitterArcsec: 0.4 },
} as const satisfies Record<string, SidePlan>;

export type PlanName = keyof typeof pairPlans;
