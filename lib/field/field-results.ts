import { makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import type { TestResults } from "../report/results.ts";
import { type GridShelf, makeGridShelf, readSeeingShare } from "./blur-width.ts";
import { stateDirection, stateNumber, stateSize } from "./field-intervals.ts";
import { evaluateFoci, evaluateShape, NIGHT, prepareNight, TERM } from "./field-model.ts";
import { placeNight } from "./field-problem.ts";
import type { FieldFit, RadialMeans } from "./fit-field.ts";
import { listOpenQuestions } from "./open-questions.ts";
import { type OrientedFields, orientFields } from "./orient-fields.ts";

/** The field's results, with what can be said of sizes where signs cannot be told. */
export type FieldResults = NonNullable<TestResults["field"]> & {
  /** Sizes without sign, and the line along which the focal plane is tilted (deg, 0 to 180): known even where signs are not. */
  unsigned: { defocus: Quantity; curvature: Quantity; astigmatism: Quantity; tiltAxis: Quantity };
  /** Stars that took part, over all frames. */
  stars: number;
};

const model =
  "field model: seeing and tracking as an elliptical Kolmogorov image, blurred by the defocused annular aperture (wave optics)";

function readTilt(field: Float64Array): [number, number] {
  return [field[TERM.tiltX], field[TERM.tiltY]];
}

/** Height at the sensor's centre, um. */
function readDefocus(field: Float64Array): number {
  const { tangentialUm, sagittalUm } = evaluateFoci(field, 0, 0, 0);
  return (tangentialUm + sagittalUm) / 2;
}

const shape = new Float64Array(3);

/**
 * Reads the spin-2 pair that tracking gives a star at the sensor's centre, free of astigmatism, mean over the frames; of the
 * best field and of as many draws as are asked for.
 */
export function makeTrackingReader(fit: FieldFit): (field: Float64Array) => [number, number] {
  const shelf = makeGridShelf(fit.optics.obstructionRatio);
  return (field) => readTracking(fit, field, shelf);
}

function readTracking(fit: FieldFit, field: Float64Array, shelf: GridShelf): [number, number] {
  const plain = Float64Array.from(field);
  plain[TERM.astigmatism] = 0;
  plain[TERM.coma] = 0;
  let [e1, e2] = [0, 0];
  for (let f = 0; f < fit.problem.frames.length; f++) {
    const own = placeNight(f);
    const night = prepareNight(
      field[own + NIGHT.lnWidth],
      field[own + NIGHT.e1],
      field[own + NIGHT.e2],
      fit.optics,
      shelf,
    );
    evaluateShape(plain, night, field[own + NIGHT.focus], fit.optics.focalRatio, 0, 0, shape, 0);
    e1 += shape[1] / fit.problem.frames.length;
    e2 += shape[2] / fit.problem.frames.length;
  }
  return [e1, e2];
}

/** 1 - b/a of a spin-2 size (a2 - b2)/(a2 + b2). */
function toEllipticity(size: number): number {
  return 1 - Math.sqrt((1 - Math.min(size, 0.999)) / (1 + Math.min(size, 0.999)));
}

/**
 * Tracking widens a star across its own direction too, for a seeing disc's wings fall slower than a Gaussian's: by this share
 * of the spin-2 elongation it makes. From the Kolmogorov image (Fried 1966, by Fourier transform) under a steady drift and
 * under a Gaussian wander along one axis: 0.054 to 0.057 and 0.050 to 0.057 up to an elongation of 0.6 and 0.5.
 */
const shortAxisGrowth = 0.055;

/** Seeing of one field's parameters, mean over the frames, arcsec: from the short axis, where tracking adds least. */
export function readSeeing(fit: FieldFit, field: Float64Array): number {
  const { focalRatio, wavelengthUm, obstructionRatio, umPerPx, arcsecPerPx } = fit.optics;
  let sum = 0;
  for (let f = 0; f < fit.problem.frames.length; f++) {
    const own = placeNight(f);
    const size = Math.min(0.99, Math.hypot(field[own + NIGHT.e1], field[own + NIGHT.e2]));
    const short = Math.exp(field[own + NIGHT.lnWidth]) * ((1 - size) / (1 + size)) ** 0.25;
    const width = short / (1 + shortAxisGrowth * size);
    sum += width * readSeeingShare(obstructionRatio, (wavelengthUm * focalRatio) / width);
  }
  return ((sum / fit.problem.frames.length) * arcsecPerPx) / umPerPx;
}

/** The same reading, taken once of each field: several results ask for it. */
function readOnce<Value>(read: (field: Float64Array) => Value): (field: Float64Array) => Value {
  const known = new Map<Float64Array, Value>();
  return (field) => {
    const found = known.get(field) ?? read(field);
    known.set(field, found);
    return found;
  };
}

function withModel(quantity: Quantity): Quantity {
  return quantity.value === null ? quantity : { ...quantity, source: model };
}

/** A signed number, or its size in words where the sign is not told. */
function stateSigned(
  oriented: OrientedFields,
  read: (field: Float64Array) => number,
  unit: Unit,
  stars: number,
): Quantity {
  const { best, draws, signKnown, rule, why } = oriented;
  if (!signKnown) {
    const size = Math.abs(read(best));
    return makeUnknown(unit, `Its size is ${size.toPrecision(2)} ${unit}, its sign is not told. ${why}`);
  }
  const quantity = withModel(stateNumber(best, draws, read, unit, stars));
  return rule === null || quantity.value === null ? quantity : { ...quantity, assumes: why };
}

/**
 * One-sigma fault of the seeing's size as a share: the model stretches all of a star by tracking, and takes one
 * wavelength for the band, and the learned profile has all widths wrong alike by 0.4 to 1.5 %. From drawn and measured frames.
 */
const seeingFault = 0.016;

function stateSeeing(fit: FieldFit, { best, draws }: OrientedFields): Quantity {
  const seeing = stateNumber(best, draws, (field) => readSeeing(fit, field), "arcsec", fit.stars);
  if (seeing.value === null) return seeing;
  const fault = 1.96 * seeingFault * seeing.value;
  return withModel({
    ...seeing,
    lo: seeing.value - Math.hypot(seeing.value - seeing.lo, fault),
    hi: seeing.value + Math.hypot(seeing.hi - seeing.value, fault),
  });
}

/**
 * `tests[].field` of a fit. `ledgerRadialMeans` overrides the record's rule where a ledger of spacings has found what
 * long axes along the radius mean. All intervals are 95 %, read off the fit's draws.
 */
export function makeFieldResults(
  fit: FieldFit,
  options: { ledgerRadialMeans?: RadialMeans | null } = {},
): FieldResults {
  const oriented = orientFields(fit, options.ledgerRadialMeans ?? null);
  const { best, draws, signKnown, why } = oriented;
  const { stars } = fit;
  const across = 2 * fit.problem.halfDiagonalMm;
  const size = (read: (field: Float64Array) => number, unit: Unit): Quantity =>
    withModel(stateNumber(best, draws, (field) => Math.abs(read(field)), unit, stars));
  const signed = (read: (field: Float64Array) => number, unit: Unit): Quantity =>
    stateSigned(oriented, read, unit, stars);
  const noTilt = "The tilt is not told from none.";
  const gradient = stateSize(best, draws, readTilt, 1, "um/mm", stars);
  const toArcmin = (slope: number): number => (Math.atan(slope / 1000) * 180 * 60) / Math.PI;
  const direction = stateDirection(best, draws, readTilt, 1, noTilt, stars);
  const tracking = readOnce(makeTrackingReader(fit));
  const trackingSize = stateSize(best, draws, tracking, 1, "ratio", stars);
  return {
    defocus: signed(readDefocus, "um"),
    tiltX: signed((field) => field[TERM.tiltX], "um/mm"),
    tiltY: signed((field) => field[TERM.tiltY], "um/mm"),
    tiltAcross: withModel(stateSize(best, draws, readTilt, across, "um", stars)),
    tiltAngle:
      gradient.value === null
        ? makeUnknown("arcmin", gradient.why)
        : makeMeasured(
            toArcmin(gradient.value),
            "arcmin",
            toArcmin(gradient.lo),
            toArcmin(gradient.hi),
            stars,
          ),
    tiltDirection: signKnown || direction.value === null ? direction : makeUnknown("deg", why),
    curvature: signed((field) => field[TERM.curvature], "um/mm2"),
    astigmatism: signed((field) => field[TERM.astigmatism], "um/mm2"),
    centre: {
      x: stateNumber(best, draws, (field) => field[TERM.centreX], "mm", stars),
      y: stateNumber(best, draws, (field) => field[TERM.centreY], "mm", stars),
    },
    tracking: {
      ellipticity:
        trackingSize.value === null
          ? trackingSize
          : makeMeasured(
              toEllipticity(trackingSize.value),
              "ratio",
              toEllipticity(trackingSize.lo),
              toEllipticity(trackingSize.hi),
              stars,
            ),
      angle: stateDirection(best, draws, tracking, 2, "Tracking is not told from none.", stars),
    },
    seeing: stateSeeing(fit, oriented),
    explained:
      fit.explained === null
        ? makeUnknown(
            "percent",
            "Single stars vary over the field by hardly more than their noise; only many together show what the model finds.",
          )
        : makeMeasured(
            100 * fit.explained.value,
            "percent",
            100 * Math.min(fit.explained.value, fit.explained.lo),
            100 * Math.max(fit.explained.value, fit.explained.hi),
            stars,
            { source: "counted as by Jarvis, Schechter & Jain 2008, arXiv 0810.0027" },
          ),
    signKnown,
    why: [why, ...listOpenQuestions(fit, oriented)].join(" "),
    unsigned: {
      defocus: size(readDefocus, "um"),
      curvature: size((field) => field[TERM.curvature], "um/mm2"),
      astigmatism: size((field) => field[TERM.astigmatism], "um/mm2"),
      tiltAxis: stateDirection(
        best,
        draws,
        (field) => {
          const [x, y] = readTilt(field);
          return [x * x - y * y, 2 * x * y];
        },
        2,
        noTilt,
        stars,
      ),
    },
    stars,
  };
}
