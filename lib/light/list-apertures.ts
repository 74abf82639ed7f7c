import type { TrainRecord } from "../records/types.ts";
import { isPart, nameSpacers } from "../train/stack.ts";
import type { Aperture, Beam } from "./light-path.ts";

/** Nearer exit pupils than this are not counted on where none is on record, mm (chosen: nearer than correctors commonly have it). */
export const nearestPupilMm = 150;

export interface LightPath {
  apertures: Aperture[];
  /** Parts whose clear diameter is not on record. */
  withoutDiameter: string[];
  /** What is calculated with first: the exit pupil on record, or telecentric. */
  beam: Beam;
  /** The other end of what the exit pupil may be; null where it is on record. */
  nearBeam: Beam | null;
}

/**
 * The light's way through the stack as a record has it: every part with a clear diameter, by its end farther from the sensor,
 * where it limits a converging beam. Spacers count as a part where there are some. Pure.
 */
export function listApertures(train: TrainRecord): LightPath {
  const apertures: Aperture[] = [];
  const withoutDiameter: string[] = [];
  let fromSensorMm = train.camera.flangeMm;
  for (const item of train.stack.toReversed()) {
    const lengthMm = isPart(item) ? item.lengthMm : item.spacersMm.reduce((sum, mm) => sum + mm, 0);
    fromSensorMm = Number((fromSensorMm + lengthMm).toFixed(6));
    const part = isPart(item) ? item.part : nameSpacers(item.spacersMm);
    if (!isPart(item) && item.spacersMm.length === 0) continue;
    if (item.clearDiameterMm === undefined) withoutDiameter.unshift(part);
    else {
      const { clearDiameterMm, offsetMm = { x: 0, y: 0 } } = item;
      apertures.unshift({ part, clearDiameterMm, fromSensorMm, offsetMm });
    }
  }
  const { apertureMm, focalLengthMm, obstructionMm } = train.telescope;
  const exitPupilMm = train.corrector?.exitPupilMm ?? null;
  const beam = {
    focalRatio: (focalLengthMm * (train.corrector?.factor ?? 1)) / apertureMm,
    obstruction: Math.min(0.95, obstructionMm / apertureMm),
    exitPupilMm,
  };
  const farthest = Math.max(0, ...apertures.map((aperture) => aperture.fromSensorMm));
  const near = Math.max(nearestPupilMm, 1.5 * farthest);
  return {
    apertures,
    withoutDiameter,
    beam,
    nearBeam: exitPupilMm === null ? { ...beam, exitPupilMm: near } : null,
  };
}
