import { makeMeasured, makeUnknown, type Quantity, type Unit, type Working } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import type { CornerName } from "./flat-measurement.ts";
import {
  type Aperture,
  type Beam,
  computeCornerShare,
  computeLightShare,
  listCornerPoints,
} from "./light-path.ts";
import { type LightPath, listApertures } from "./list-apertures.ts";
import { findNextWider, findSmallestDiameter, replaceDiameter, usualWidths } from "./size-ring.ts";

/** One line of the table of ring sizes. */
export interface RingSize {
  part: string;
  /** "M48 thread", "as it is", or what keeps the tolerance. */
  size: string;
  clearDiameterMm: number;
  /** Percent that this part alone would leave at the corners, and all parts together. */
  corner: Quantity;
  together: Quantity;
}

export interface RingResults {
  list: {
    part: string;
    clearDiameterMm: number;
    fromSensorMm: number;
    corner: Quantity;
    offsetMm: { x: number; y: number };
    /** mm; smallest clear diameter of this part that keeps the light asked for, the others as they are. */
    smallest: Quantity;
  }[];
  together: Quantity;
  limitingRing: string | null;
  /** Percent at each corner, all rings. */
  corners: Record<CornerName, Quantity>;
  withoutDiameter: string[];
  /** mm; null: not on record. */
  exitPupilMm: number | null;
  assumption: string;
  /** Percent of light that the corners are to keep, and where that number is from. */
  asked: { percent: number; from: "tolerance" | "chosen" };
  sizes: RingSize[];
  nextWider: RingSize | null;
  /** Percent against field radius, towards the corners: all rings, with the range of the exit pupil, and each alone. */
  profile: { rMm: number[]; together: number[]; togetherHi: number[]; alone: number[][] };
}

type Sensor = { widthMm: number; heightMm: number };

const overlapSource =
  "area common to the pupil and the rings seen from the corner, footprint d / N about h (1 - d / L); elementary geometry";
/** Light asked of the corners where no tolerance is on record: a loss of half a stop (chosen). */
const askedByDefault = 71;
const profileSteps = 48;

/** A quantity from both ends of what the exit pupil may be; the value is that of the first. */
function makeRange(values: readonly (number | null)[], unit: Unit, why: string, working: Working): Quantity {
  const known = values.filter((value): value is number => value !== null);
  if (known.length < values.length || known.length === 0) return makeUnknown(unit, why);
  return makeMeasured(known[0], unit, Math.min(...known), Math.max(...known), 1, working);
}

/**
 * What the rings of a train leave of the light, from the records alone. Null where no part has a clear diameter on
 * record. "At the corner" is the mean of the four; with a part off centre `corners` tells them apart.
 */
export function makeRingResults(train: TrainRecord, sensor: Sensor): RingResults | null {
  const path = listApertures(train);
  const { apertures } = path;
  if (apertures.length === 0) return null;
  const beams = path.nearBeam === null ? [path.beam] : [path.beam, path.nearBeam];
  const assumption = describeAssumption(path);
  const working = { source: overlapSource, assumes: assumption };
  const share = (list: readonly Aperture[]) =>
    makeRange(
      beams.map((beam) => 100 * computeCornerShare(beam, list, sensor)),
      "percent",
      "",
      working,
    );
  const tolerance = train.tolerances.cornerLightPercent;
  const asked = {
    percent: tolerance ?? askedByDefault,
    from: tolerance === undefined ? ("chosen" as const) : ("tolerance" as const),
  };
  const alone = apertures.map((aperture) => share([aperture]));
  const limiting = findLimiting(alone);
  const size = (place: number, name: string, clearDiameterMm: number): RingSize => {
    const list = replaceDiameter(apertures, place, clearDiameterMm);
    return {
      part: apertures[place].part,
      size: name,
      clearDiameterMm,
      corner: share([list[place]]),
      together: share(list),
    };
  };
  // The ring to ask about: the one that limits, or would first.
  const place = limiting ?? findNarrowest(beams[0], apertures, sensor);
  const wider = findNextWider(apertures[place].clearDiameterMm);
  const smallest = apertures.map((_, k) =>
    makeRange(
      beams.map((beam) => findSmallestDiameter(beam, apertures, k, asked.percent / 100, sensor)),
      "mm",
      `The other rings alone leave less than ${asked.percent} % at the corner.`,
      working,
    ),
  );
  return {
    list: apertures.map(({ part, clearDiameterMm, fromSensorMm, offsetMm }, k) => ({
      part,
      clearDiameterMm,
      fromSensorMm,
      corner: alone[k],
      offsetMm,
      smallest: smallest[k],
    })),
    together: share(apertures),
    limitingRing: limiting === null ? null : apertures[limiting].part,
    corners: makeCorners(beams, apertures, sensor, working),
    withoutDiameter: path.withoutDiameter,
    exitPupilMm: path.beam.exitPupilMm,
    assumption,
    asked,
    sizes: listSizes(place, apertures[place], smallest[place], asked.percent, size),
    nextWider: wider === null ? null : size(place, wider.name, wider.clearDiameterMm),
    profile: makeProfile(beams, apertures, sensor),
  };
}

function describeAssumption({ beam, nearBeam, withoutDiameter }: LightPath): string {
  const pupil =
    nearBeam === null
      ? `The exit pupil stands ${beam.exitPupilMm} mm before the sensor, as on record`
      : `The exit pupil is not on record: the light is taken as telecentric, and the range reaches to an exit pupil ${nearBeam.exitPupilMm} mm before the sensor, which leaves more`;
  const unknown =
    withoutDiameter.length === 0
      ? ""
      : ` Not counted, as no clear diameter is on record: ${withoutDiameter.join(", ")}.`;
  return `${pupil}.${unknown}`;
}

/** The ring that takes most, where it takes more than 1 % at the corner; of equals, the first. */
function findLimiting(alone: readonly Quantity[]): number | null {
  let place: number | null = null;
  let least = 99;
  alone.forEach(({ value }, k) => {
    if (value === null || value >= least - 1e-9) return;
    least = value;
    place = k;
  });
  return place;
}

/** The ring that would cut first were all made narrower by the same amount. */
function findNarrowest(beam: Beam, apertures: readonly Aperture[], sensor: Sensor): number {
  const spare = apertures.map((aperture) => {
    const h = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
    const height = beam.exitPupilMm === null ? h : h * Math.abs(1 - aperture.fromSensorMm / beam.exitPupilMm);
    return aperture.clearDiameterMm / 2 - height - aperture.fromSensorMm / (2 * beam.focalRatio);
  });
  return spare.indexOf(Math.min(...spare));
}

function makeCorners(
  beams: readonly Beam[],
  apertures: readonly Aperture[],
  sensor: Sensor,
  working: Working,
) {
  const entries = listCornerPoints(sensor).map(({ corner, point }) => [
    corner,
    makeRange(
      beams.map((beam) => 100 * computeLightShare(beam, apertures, point)),
      "percent",
      "",
      working,
    ),
  ]);
  return Object.fromEntries(entries) as Record<CornerName, Quantity>;
}

function listSizes(
  place: number,
  now: Aperture,
  smallest: Quantity,
  percent: number,
  size: (place: number, name: string, clearDiameterMm: number) => RingSize,
): RingSize[] {
  const usual = usualWidths.map(({ name, clearDiameterMm }) => size(place, name, clearDiameterMm));
  const needed =
    smallest.value === null
      ? []
      : [size(place, `smallest for ${percent} %`, Number(smallest.value.toFixed(1)))];
  const list = [...usual, ...needed, size(place, "as it is", now.clearDiameterMm)];
  return list.sort((a, b) => a.clearDiameterMm - b.clearDiameterMm);
}

/** Along the half-diagonals, mean of the four: what a ring of field radius shows where no part is off centre. */
function makeProfile(beams: readonly Beam[], apertures: readonly Aperture[], sensor: Sensor) {
  const half = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
  const rMm = Array.from({ length: profileSteps + 1 }, (_, k) =>
    Number(((half * k) / profileSteps).toFixed(4)),
  );
  const along = (beam: Beam, list: readonly Aperture[]) =>
    rMm.map((r) => Number((100 * computeCornerShare(beam, list, sensor, r / half)).toFixed(4)));
  return {
    rMm,
    together: along(beams[0], apertures),
    togetherHi: along(beams[beams.length - 1], apertures),
    alone: apertures.map((aperture) => along(beams[0], [aperture])),
  };
}
