import { makeMeasured, makeUnknown, type Quantity, type Unit, type Working } from "../maths/quantity.ts";
import type { Camera } from "../records/types.ts";
import type { CornerName, Estimate, FlatChannel } from "./flat-measurement.ts";
import { makeLightReader } from "./light-map.ts";
import { findLitEdge } from "./lit-radius.ts";

/** The light of one colour plane or filter: one entry of `illumination` in results.json. */
export interface Illumination {
  corners: Record<CornerName, Quantity>;
  falloff: Quantity;
  centre: { x: Quantity; y: Quantity };
  gradient: { size: Quantity; angle: Quantity };
  fullyLitRadius: Quantity;
  /** Percent of the brightest, mean of the four corners. */
  cornerMean: Quantity;
  /** What the corners lose of the signal-to-noise ratio, percent, where the sky's own noise rules; and how many times longer they need. */
  noiseCost: Quantity;
  exposureFactor: Quantity;
  /** mm, middle of the part of the light that is symmetric about a point. */
  symmetry: { x: Quantity; y: Quantity };
  /** Percent of saturation at the brightest point, mean of the flats. */
  level: Quantity;
  /** From pairs of flats and biases; `recorded` stands in the camera's record. */
  gain: Quantity;
  readNoise: Quantity;
  recordedGain: number | null;
  recordedReadNoise: number | null;
  flats: number;
  dust: { spots: number; percent: number };
  starCells: number;
  /** Percent of the brightest against field radius: mean, least and most around the circle. */
  profile: { rMm: number[]; mean: number[]; least: number[]; most: number[] };
  /** The smooth map, percent of the brightest, rows from the lowest, each from the left; points from edge to edge of the frame. */
  map: { columns: number; rows: number; percent: number[] };
}

const reach = 1.96;

function toQuantity(estimate: Estimate, unit: Unit, n: number, working: Working = {}): Quantity {
  const half = reach * estimate.error;
  return makeMeasured(estimate.value, unit, estimate.value - half, estimate.value + half, n, working);
}

const mapSource = "smooth map of the flats: symmetric curve times a plane, and a mesh of splines";
const noCorners = "The flats show a part of the sensor only, not its corners.";

/** The illumination of a channel from what was measured of its flats. Pure. */
export function describeIllumination(
  measured: FlatChannel,
  camera: Camera,
  sensor: { widthMm: number; heightMm: number },
): Illumination {
  const { frames: n, corners, falloffPercent } = measured;
  const litEdge = findLitEdge(measured.fullyLitRadiusMm, measured.rings);
  const corner = (name: CornerName): Quantity =>
    corners === null
      ? makeUnknown("percent", noCorners)
      : toQuantity(corners[name], "percent", n, { source: mapSource });
  const mean =
    falloffPercent === null ? makeUnknown("percent", noCorners) : toQuantity(falloffPercent, "percent", n);
  return {
    corners: {
      upperLeft: corner("upperLeft"),
      upperRight: corner("upperRight"),
      lowerLeft: corner("lowerLeft"),
      lowerRight: corner("lowerRight"),
    },
    falloff: {
      ...derive(mean, "stop", (percent) => -Math.log2(Math.max(percent, 1e-6) / 100)),
      ...(mean.value === null ? {} : { formula: "-log2(L)", source: "one stop is a factor of two" }),
    },
    centre: {
      x: toQuantity(measured.brightest.x, "mm", n),
      y: toQuantity(measured.brightest.y, "mm", n),
    },
    gradient: describeGradient(measured),
    fullyLitRadius:
      litEdge === null
        ? makeUnknown(
            "mm",
            "The whole sensor is lit to 99 % of the brightest and more, but for spots that dust leaves.",
          )
        : toQuantity(litEdge, "mm", n),
    cornerMean: mean,
    noiseCost: {
      ...derive(mean, "percent", (percent) => 100 * (1 - Math.sqrt(percent / 100))),
      ...(mean.value === null
        ? {}
        : {
            formula: "1 - sqrt(L)",
            source:
              "Poisson noise of the light itself: signal-to-noise ratio grows with the root of the light",
            assumes:
              "The sky's own light rules the noise; where the camera's read noise does, the loss is 1 - L.",
          }),
    },
    exposureFactor: {
      ...derive(mean, "ratio", (percent) => 100 / percent),
      ...(mean.value === null ? {} : { formula: "1 / L", source: "equal light in corner and centre" }),
    },
    symmetry: describeSymmetry(measured),
    level:
      measured.levelShare === null
        ? makeUnknown("percent", "The level of saturation is not known.")
        : makeMeasured(
            100 * measured.levelShare,
            "percent",
            100 * measured.levelShare,
            100 * measured.levelShare,
            n,
          ),
    ...describeCamera(measured, camera),
    flats: n,
    dust: { spots: measured.masked.dustSpots, percent: measured.masked.dustPercent },
    starCells: measured.masked.starCells,
    profile: {
      rMm: measured.rings.map(({ rMm }) => rMm),
      mean: measured.rings.map((ring) => ring.mean),
      least: measured.rings.map(({ least }) => least),
      most: measured.rings.map(({ most }) => most),
    },
    map: sampleMap(measured, sensor),
  };
}

/** A falling or growing function of a quantity, its interval carried along. */
function derive(quantity: Quantity, unit: Unit, apply: (value: number) => number): Quantity {
  if (quantity.value === null) return { ...quantity, unit };
  const ends = [apply(quantity.lo), apply(quantity.hi)];
  return makeMeasured(apply(quantity.value), unit, Math.min(...ends), Math.max(...ends), quantity.n);
}

function describeGradient({ gradient, frames: n }: FlatChannel): { size: Quantity; angle: Quantity } {
  const { x, y } = gradient;
  const size = Math.hypot(x.value, y.value);
  const error =
    size > 0 ? Math.hypot(x.value * x.error, y.value * y.error) / size : Math.max(x.error, y.error);
  const lo = Math.max(0, size - reach * error);
  const known = size > reach * Math.max(x.error, y.error);
  const angle = (Math.atan2(y.value, x.value) * 180) / Math.PI;
  const swing = known ? (reach * Math.max(x.error, y.error) * 180) / Math.PI / size : 0;
  return {
    size: makeMeasured(size, "percent", lo, size + reach * error, n, {
      assumes: "Source and optics share it: only flats with the source turned tell them apart.",
    }),
    angle: known
      ? makeMeasured(angle, "deg", angle - swing, angle + swing, n)
      : makeUnknown("deg", "The light has no gradient beyond its error."),
  };
}

function describeSymmetry({ symmetry, frames: n }: FlatChannel): { x: Quantity; y: Quantity } {
  if (symmetry === null) {
    const unknown = makeUnknown(
      "mm",
      "The light falls off too evenly to tell a shifted centre from a gradient of the source.",
    );
    return { x: unknown, y: unknown };
  }
  return { x: toQuantity(symmetry.x, "mm", n), y: toQuantity(symmetry.y, "mm", n) };
}

function describeCamera(measured: FlatChannel, camera: Camera) {
  const { transfer } = measured;
  const source =
    "photon transfer from pairs of flats and biases (Janesick; Howell, Handbook of CCD Astronomy, 4.3)";
  const few = makeUnknown("e-/ADU", "It takes two flats.");
  const noBias = makeUnknown("e-", "It takes two flats and two bias frames.");
  const recordedGain = camera.gainElectronsPerAdu ?? null;
  const recordedReadNoise = camera.readNoiseElectrons ?? null;
  if (transfer === null) return { gain: few, readNoise: noBias, recordedGain, recordedReadNoise };
  const gain = toQuantity(transfer.gainElectronsPerAdu, "e-/ADU", transfer.flatPairs);
  const readNoise =
    transfer.readNoiseElectrons === null
      ? noBias
      : { ...toQuantity(transfer.readNoiseElectrons, "e-", transfer.biasPairs), source };
  return { gain: { ...gain, source }, readNoise, recordedGain, recordedReadNoise };
}

const mapColumns = 36;

/** The map on a coarse grid from edge to edge of the sensor; contours need no more. */
function sampleMap({ map }: FlatChannel, sensor: { widthMm: number; heightMm: number }): Illumination["map"] {
  const rows = Math.max(6, Math.round((mapColumns * sensor.heightMm) / sensor.widthMm));
  const read = makeLightReader(map);
  const percent: number[] = [];
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < mapColumns; i++) {
      const x = (i / (mapColumns - 1) - 0.5) * sensor.widthMm;
      const y = (j / (rows - 1) - 0.5) * sensor.heightMm;
      percent.push(Number((100 * read(x, y)).toFixed(3)));
    }
  }
  return { columns: mapColumns, rows, percent };
}
