import { ReportError } from "../fault.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import { makeFullGeometry, type SensorGeometry } from "../field/geometry.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { importStarTable } from "../stars/import-table.ts";
import type { StarTable } from "../stars/star-table.ts";

/** Where a test's stars come from: frames measured here, or a table made elsewhere. */
export interface StarSource {
  geometry: SensorGeometry;
  /** Star tables by channel, one a frame. */
  tables: Map<string, StarTable[]>;
  warnings: string[];
}

/** The star tables of frames measured here, and where their pixels lie on the sensor. */
export function readFrames(train: TrainEntry, frames: readonly FrameMeasurement[]): StarSource {
  const found = findGeometry(frames[0], train.record.camera);
  const whole = makeFullGeometry(frames[0].widthPx, frames[0].heightPx, train.record.camera.pixelPitchUm);
  const tables = new Map<string, StarTable[]>();
  for (const frame of frames) {
    for (const { channel, stars } of frame.channels)
      tables.set(channel, [...(tables.get(channel) ?? []), stars]);
  }
  return isFault(found)
    ? {
        geometry: whole,
        tables,
        warnings: [`Frames of ${found.found} do not fit the camera on record: ${found.fix}.`],
      }
    : { geometry: found.geometry, tables, warnings: found.warnings };
}

/** The star table that a record names; its faults name the file by its way from the content folder, as one of several trains may have it. */
export function readTable(train: TrainEntry, test: TestEntry, arcsecPerPx: number): StarSource | null {
  if (test.record.starTable === null || test.starTableText === null) return null;
  const { camera } = train.record;
  const geometry = makeFullGeometry(camera.widthPx, camera.heightPx, camera.pixelPitchUm);
  try {
    const { stars, warnings } = importStarTable(test.starTableText, test.record.starTable, {
      geometry,
      arcsecPerPx,
    });
    return { geometry, tables: new Map([["L", [stars]]]), warnings };
  } catch (error) {
    if (!(error instanceof ReportError)) throw error;
    const folder = test.source.file.slice(0, test.source.file.lastIndexOf("/") + 1);
    throw new ReportError(error.faults.map((fault) => ({ ...fault, file: `${folder}${fault.file}` })));
  }
}
