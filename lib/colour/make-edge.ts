import { locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity, scaleQuantity } from "../maths/quantity.ts";
import type { ColourPair, ColourResults } from "../report/colour-results.ts";
import type { EdgePair, EdgeResults } from "../report/edge-results.ts";
import { type EdgeShift, fitEdgeShift, leastArcDeg, measureArc } from "./compare-edge.ts";
import { describeMedian } from "./describe-median.ts";
import type { EdgeFrame, EdgeMeasurement, EdgeStretch } from "./edge-measurement.ts";
import { capitalize, nameColour } from "./judge-lateral.ts";
import { describeShift } from "./make-pair.ts";
import { computeHalfWidth, type Estimate } from "./measure-shift.ts";

export interface EdgeSetting {
  measurement: EdgeMeasurement;
  /** Geometry of each frame, in their order. */
  geometries: readonly SensorGeometry[];
  /** The channel that the others are held against. */
  reference: string;
  focalLengthMm: number;
  /** The stars' colour of the same test, for comparison; null without. */
  colour: ColourResults | null;
}

const widths = "stretches of limb";

/** Straight line between the points of the stars' curve, um at a field radius in mm. */
function readCurve({ curve }: ColourPair, rMm: number, key: "um" | "loUm" | "hiUm"): number {
  if (curve === null) return Number.NaN;
  const last = curve.rMm.length - 1;
  const after = curve.rMm.findIndex((radius) => radius >= rMm);
  const k = after < 0 ? last : Math.max(1, after);
  const share = (rMm - curve.rMm[k - 1]) / (curve.rMm[k] - curve.rMm[k - 1]);
  return curve[key][k - 1] + share * (curve[key][k] - curve[key][k - 1]);
}

/** The disc's larger radius as the stars' lateral colour makes it: their shift at each stretch along the normal, fitted alike. */
function predictGrowth(
  pair: ColourPair | undefined,
  stretches: readonly EdgeStretch[],
  geometry: SensorGeometry,
): Quantity {
  if (pair === undefined || pair.curve === null)
    return makeUnknown("um", "No lateral colour of stars is at hand in this test.");
  const [value, lo, hi] = (["um", "loUm", "hiUm"] as const).map((key) => {
    const predicted = stretches.map(({ xPx, yPx, angleDeg }) => {
      const { x, y } = locateOnSensor(geometry, xPx, yPx);
      const rMm = Math.hypot(x, y);
      const angle = (angleDeg * Math.PI) / 180;
      const along = rMm === 0 ? 0 : (x * Math.cos(angle) + y * Math.sin(angle)) / rMm;
      return { angleDeg, fringe: readCurve(pair, rMm, key) * along };
    });
    const fake = predicted.map(
      ({ angleDeg, fringe }, k): EdgeStretch => ({
        ...stretches[k],
        angleDeg,
        channels: {
          of: { positionPx: fringe, spreadPx: 0, fwhmPx: 0, mtf50: 0 },
          against: { positionPx: 0, spreadPx: 0, fwhmPx: 0, mtf50: 0 },
        },
      }),
    );
    return fitEdgeShift(fake, "of", "against")?.grow.value ?? Number.NaN;
  });
  return makeMeasured(value, "um", Math.min(lo, hi), Math.max(lo, hi), pair.stars);
}

/**
 * Mean of the frames' estimates. Frames show the same mountains, so what they leave open is not averaged down: the error is that of
 * one frame, or how far the frames differ where that is more.
 */
function averageEstimates(estimates: readonly Estimate[], factor: number): Estimate {
  const n = estimates.length;
  const value = estimates.reduce((sum, { value: each }) => sum + each, 0) / n;
  const own = Math.sqrt(estimates.reduce((sum, { error }) => sum + error * error, 0) / n);
  const freedom = Math.min(...estimates.map(({ freedom: each }) => each));
  const squares = estimates.reduce((sum, { value: each }) => sum + (each - value) ** 2, 0);
  const between = n < 2 ? 0 : Math.sqrt(squares / (n - 1));
  return { value: value * factor, error: Math.max(own, between) * factor, freedom };
}

function makePair(of: string, setting: EdgeSetting): EdgePair {
  const { measurement, geometries, reference: against, focalLengthMm, colour } = setting;
  const umPerPx = geometries[0].umPerPx;
  const arcsecPerUm = 206.264806 / focalLengthMm;
  const fits = measurement.frames.flatMap((frame, k): { fit: EdgeShift; frame: EdgeFrame; k: number }[] => {
    const fit = fitEdgeShift(frame.stretches, of, against);
    return fit === null ? [] : [{ fit, frame, k }];
  });
  const names = `${nameColour(of)} and ${nameColour(against)}`;
  if (fits.length === 0) {
    const why = `Less than ${leastArcDeg} degrees of bright limb: a shift of the disc and a larger disc are not told apart.`;
    const unknown = (unit: "um" | "deg" | "arcsec") => makeUnknown(unit, why);
    return {
      of,
      against,
      largestFringe: unknown("um"),
      largestOnSky: unknown("arcsec"),
      shift: { size: unknown("um"), angle: unknown("deg") },
      radiusDifference: unknown("um"),
      radiusFromStars: unknown("um"),
      agrees: null,
      sentence: `The fringe between ${names} is not told apart: ${why}`,
    };
  }
  const average = (pick: (fit: EdgeShift) => Estimate) =>
    averageEstimates(
      fits.map(({ fit }) => pick(fit)),
      umPerPx,
    );
  const [x, y, grow] = [average((fit) => fit.x), average((fit) => fit.y), average((fit) => fit.grow)];
  const n = fits.reduce((sum, { fit }) => sum + fit.fringePx.length, 0);
  const shift = describeShift(x, y, n);
  const growth = toQuantity(grow, n);
  const widest = Math.abs(grow.value) + Math.hypot(x.value, y.value);
  const reach = Math.hypot(computeHalfWidth(grow), computeHalfWidth(x));
  const largestFringe = makeMeasured(widest, "um", Math.max(0, widest - reach), widest + reach, n);
  const { frame, k } = fits[0];
  const pair = colour?.pairs.find((candidate) => candidate.of === of && candidate.against === against);
  const radiusFromStars = predictGrowth(pair, frame.stretches, geometries[k]);
  const agrees =
    growth.value === null || radiusFromStars.value === null
      ? null
      : growth.lo <= radiusFromStars.hi && radiusFromStars.lo <= growth.hi;
  const isTold = growth.value !== null && (growth.lo > 0 || growth.hi < 0);
  const verdict =
    agrees === null
      ? ""
      : !agrees
        ? " The stars’ lateral colour says otherwise: trust the stars, of which there are many."
        : isTold
          ? " The stars’ lateral colour says the same."
          : " The limb is too short to tell a larger disc from none, so it neither confirms nor contradicts the stars’ lateral colour.";
  return {
    of,
    against,
    largestFringe,
    largestOnSky: scaleQuantity(largestFringe, arcsecPerUm, "arcsec"),
    shift,
    radiusDifference: growth,
    radiusFromStars,
    agrees,
    sentence: `${capitalize(nameColour(of))} and ${nameColour(against)} lie apart by at most ${widest.toFixed(2)} um (${(widest * arcsecPerUm).toFixed(2)} arcsec) at the Moon’s limb.${verdict}`,
  };
}

function toQuantity(estimate: Estimate, n: number): Quantity {
  const reach = computeHalfWidth(estimate);
  return makeMeasured(estimate.value, "um", estimate.value - reach, estimate.value + reach, n);
}

/** Spread and fringes of the limb as the results state them; null where no frame shows a usable limb. */
export function makeEdge(setting: EdgeSetting): EdgeResults | null {
  const { measurement, geometries, reference, focalLengthMm } = setting;
  const { frames } = measurement;
  const all = frames.flatMap(({ stretches }, k) => stretches.map((stretch) => ({ stretch, k })));
  const names = [...new Set(all.flatMap(({ stretch }) => Object.keys(stretch.channels)))];
  const umPerPx = geometries[0]?.umPerPx ?? Number.NaN;
  const arcsecPerPx = (206.264806 * umPerPx) / focalLengthMm;
  const measureWidth = (name: string, key: "spreadPx" | "fwhmPx") => {
    const values = all.map(({ stretch }) => stretch.channels[name]?.[key] ?? Number.NaN);
    const px = describeMedian(values, "px", widths);
    return {
      px,
      um: scaleQuantity(px, umPerPx, "um"),
      arcsec: scaleQuantity(px, arcsecPerPx, "arcsec"),
    };
  };
  return {
    frames: frames.map(({ file, sha256, stretches, warnings }) => ({
      file,
      sha256,
      stretches: stretches.length,
      warnings,
    })),
    arc:
      all.length === 0
        ? makeUnknown("deg", frames[0]?.warnings[0] ?? "No limb was measured.")
        : makeExact(Math.round(Math.max(...frames.map(({ stretches }) => measureArc(stretches)))), "deg"),
    channels: Object.fromEntries(
      names.map((name) => [
        name,
        {
          spread: measureWidth(name, "spreadPx"),
          fwhm: measureWidth(name, "fwhmPx"),
          halfContrastPeriod: describeMedian(
            all.map(({ stretch }) => umPerPx / (stretch.channels[name]?.mtf50 ?? Number.NaN)),
            "um",
            widths,
          ),
        },
      ]),
    ),
    pairs: names
      .filter((name) => name !== reference && names.includes(reference))
      .map((of) => makePair(of, setting)),
    stretches: all.map(({ stretch, k }) => {
      const place = locateOnSensor(geometries[k], stretch.xPx, stretch.yPx);
      const against = stretch.channels[reference]?.positionPx ?? Number.NaN;
      const list = (read: (name: string) => number) =>
        Object.fromEntries(
          Object.keys(stretch.channels).map((name) => [name, Number(read(name).toFixed(4))]),
        );
      return {
        frame: k,
        angleDeg: stretch.angleDeg,
        xMm: Number(place.x.toFixed(3)),
        yMm: Number(place.y.toFixed(3)),
        spreadUm: list((name) => stretch.channels[name].spreadPx * umPerPx),
        fringeUm: list((name) => (stretch.channels[name].positionPx - against) * umPerPx),
      };
    }),
  };
}
