import type { Fault } from "../fault.ts";
import { agreesWithPitch } from "../frames/match-camera.ts";
import type { Camera } from "../records/types.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { makeFullGeometry, type SensorGeometry } from "./geometry.ts";

/** What a frame's size and header say of where its pixels lie on the record's sensor. */
export interface FoundGeometry {
  geometry: SensorGeometry;
  binning: number;
  warnings: string[];
}

/** Overscan or border columns that a camera's software trims: at most this share of a side. */
const largestTrim = 0.02;

type FrameSize = Pick<FrameMeasurement, "file" | "widthPx" | "heightPx"> & {
  header: Pick<FrameMeasurement["header"], "binning" | "cropOriginPx"> & { pixelPitchUm?: number | null };
};

function fitsWhole(frame: FrameSize, camera: Camera, binning: number): boolean {
  const [width, height] = [Math.floor(camera.widthPx / binning), Math.floor(camera.heightPx / binning)];
  return frame.widthPx === width && frame.heightPx === height;
}

function fitsTrimmed(frame: FrameSize, camera: Camera, binning: number): boolean {
  const differs = (size: number, whole: number) =>
    Math.abs(size - whole / binning) <= (largestTrim * whole) / binning;
  return differs(frame.widthPx, camera.widthPx) && differs(frame.heightPx, camera.heightPx);
}

function describeSize(size: { widthPx: number; heightPx: number }): string {
  return `${size.widthPx} x ${size.heightPx} px`;
}

function makeSizeFault(frame: FrameSize, camera: Camera): Fault {
  const turned = frame.widthPx === camera.heightPx && frame.heightPx === camera.widthPx;
  return {
    code: "field/wrong-size",
    file: frame.file,
    found: `${describeSize(frame)}${turned ? ", the camera's size turned by a quarter" : ""}`,
    allowed: `${describeSize(camera)} of the camera ${camera.name}, its size binned 2 x 2, 3 x 3 or 4 x 4, or a part of it whose header tells where it lies (XORGSUBF, YORGSUBF)`,
    fix: turned
      ? "save the frame as the camera delivers it, unturned"
      : "correct camera.widthPx and heightPx, or name frames of this camera as it delivers them",
  };
}

/** Centre of a part read out, mm from the sensor's centre. */
function placeCrop(frame: FrameSize, camera: Camera, binning: number, origin: { x: number; y: number }) {
  const mmPerPx = (camera.pixelPitchUm * binning) / 1000;
  return {
    x: (origin.x + frame.widthPx / 2 - camera.widthPx / binning / 2) * mmPerPx,
    y: (origin.y + frame.heightPx / 2 - camera.heightPx / binning / 2) * mmPerPx,
  };
}

/**
 * Cameras of one size may differ in their pixels: a night of another one would go into the train's history unnoticed but
 * for the pixel size in its header.
 */
function warnOfPitch(frame: FrameSize, camera: Camera, binning: number): string[] {
  const stated = frame.header.pixelPitchUm ?? null;
  if (stated === null || agreesWithPitch(stated, camera.pixelPitchUm, binning)) return [];
  return [
    `The header of ${frame.file} says pixels of ${stated} um (XPIXSZ) where the record's camera ${camera.name} has ${camera.pixelPitchUm} um; the record's are used. See whether another camera was on the telescope that night.`,
  ];
}

/**
 * The frame's place on the record's sensor: whole, binned (by its header, or by its size where that is silent), trimmed
 * by up to 2 % (taken as central, with a warning), or a part whose header tells where it lies. Anything else is a fault:
 * stars of another sensor would be put at wrong field radii. A pixel size in the header that is not the record's is a warning.
 */
export function findGeometry(frame: FrameSize, camera: Camera): FoundGeometry | Fault {
  const found = placeOnSensor(frame, camera);
  if (isFault(found)) return found;
  return { ...found, warnings: [...found.warnings, ...warnOfPitch(frame, camera, found.binning)] };
}

function placeOnSensor(frame: FrameSize, camera: Camera): FoundGeometry | Fault {
  const { binning: told, cropOriginPx: origin } = frame.header;
  const candidates = told === null ? [1, 2, 3, 4] : [told];
  for (const binning of [...candidates, ...(told === 1 ? [2, 3, 4] : [])]) {
    if (!fitsWhole(frame, camera, binning)) continue;
    const geometry = makeFullGeometry(frame.widthPx, frame.heightPx, camera.pixelPitchUm, binning);
    const guessed = binning > 1 && told !== binning;
    const warning = `The header of ${frame.file} does not tell its binning; by its size it is ${binning} x ${binning}.`;
    return { geometry, binning, warnings: guessed ? [warning] : [] };
  }
  const binning = told ?? 1;
  const whole = {
    sensorWidthMm: (camera.widthPx * camera.pixelPitchUm) / 1000,
    sensorHeightMm: (camera.heightPx * camera.pixelPitchUm) / 1000,
  };
  const part = {
    ...makeFullGeometry(frame.widthPx, frame.heightPx, camera.pixelPitchUm, binning),
    ...whole,
  };
  const fitsInside =
    origin !== null &&
    (origin.x + frame.widthPx) * binning <= camera.widthPx &&
    (origin.y + frame.heightPx) * binning <= camera.heightPx;
  if (origin !== null && fitsInside) {
    const geometry = { ...part, offsetMm: placeCrop(frame, camera, binning, origin) };
    return { geometry, binning, warnings: [] };
  }
  if (!fitsTrimmed(frame, camera, binning)) return makeSizeFault(frame, camera);
  const warning = `${frame.file} has ${describeSize(frame)} where the camera has ${describeSize(camera)}; the difference is taken as trimmed evenly at all edges.`;
  return { geometry: part, binning, warnings: [warning] };
}

export function isFault(found: FoundGeometry | Fault): found is Fault {
  return "code" in found;
}
