import type { Fault } from "../fault.ts";
import { parseFitsNumber } from "./fits-card.ts";
import type { Frame } from "./frame.ts";

/** The part of a camera's record that a frame is held against. */
export interface CameraSize {
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
}

/** Where a frame's pixels lie on the sensor. */
export interface CameraMatch {
  /** Sensor pixels along each side of a frame pixel. */
  binning: number;
  /** Sensor pixels from the sensor's upper-left corner, as displayed, to the frame's. */
  offsetXPx: number;
  offsetYPx: number;
  /** Pitch of a frame pixel. */
  umPerPx: number;
  warnings: string[];
}

type FrameSize = Pick<Frame, "file" | "format" | "widthPx" | "heightPx" | "header">;

/** Largest binning tried where the header is silent; chosen: cameras offer up to 4, software seldom more. */
const largestBinning = 8;

/** True where a side of the frame is the sensor's side binned, with the last incomplete pixel dropped or kept. */
function isBinnedSide(framePx: number, sensorPx: number, binning: number): boolean {
  return framePx === Math.floor(sensorPx / binning) || framePx === Math.ceil(sensorPx / binning);
}

/** The binning at which the frame is the whole sensor; null: none. */
function findWholeBinning(frame: FrameSize, camera: CameraSize): number | null {
  for (let binning = 1; binning <= largestBinning; binning++) {
    const fits =
      isBinnedSide(frame.widthPx, camera.widthPx, binning) &&
      isBinnedSide(frame.heightPx, camera.heightPx, binning);
    if (fits) return binning;
  }
  return null;
}

function readKeyword(frame: FrameSize, keyword: string): number | null {
  const text = Object.hasOwn(frame.header.keywords, keyword) ? frame.header.keywords[keyword].trim() : "";
  const value = parseFitsNumber(text);
  return Number.isInteger(value) ? value : null;
}

/**
 * First column and row of a crop on the sensor, sensor pixels from 0, rows counted as they are stored; null where the
 * header does not say. XORGSUBF and YORGSUBF count binned pixels (common practice, no source); DETSEC is
 * '[x1:x2,y1:y2]', sensor pixels from 1 (a convention of observatories' mosaics).
 */
function readCropOrigin(frame: FrameSize, binning: number): { x: number; y: number } | null {
  const x = readKeyword(frame, "XORGSUBF");
  const y = readKeyword(frame, "YORGSUBF");
  if (x !== null && y !== null) return { x: x * binning, y: y * binning };
  const section = /^\[\s*(\d+)\s*:\s*\d+\s*,\s*(\d+)\s*:\s*\d+\s*\]$/.exec(
    frame.header.keywords["DETSEC"]?.trim() ?? "",
  );
  return section === null ? null : { x: Number(section[1]) - 1, y: Number(section[2]) - 1 };
}

/** The header's pixel size should be the camera's, or that of its binned pixels (writers differ in which they give). */
export function agreesWithPitch(statedUm: number, pixelPitchUm: number, binning: number): boolean {
  return [1, binning].some((factor) => Math.abs(statedUm / (pixelPitchUm * factor) - 1) < 0.01);
}

function checkPitch(frame: FrameSize, camera: CameraSize, binning: number, warnings: string[]): void {
  const stated = frame.header.pixelPitchUm;
  if (stated === null || agreesWithPitch(stated, camera.pixelPitchUm, binning)) return;
  warnings.push(
    `The file's header says pixels of ${stated} um, the record ${camera.pixelPitchUm} um${binning > 1 ? ` binned ${binning} x ${binning}` : ""}; the record's were used.`,
  );
}

function makeSizeFault(frame: FrameSize, camera: CameraSize, binning: number): Fault {
  const turned =
    isBinnedSide(frame.widthPx, camera.heightPx, binning) &&
    isBinnedSide(frame.heightPx, camera.widthPx, binning);
  return {
    code: "frames/wrong-size",
    file: frame.file,
    found: `${frame.widthPx} x ${frame.heightPx} px${binning > 1 ? ` at binning ${binning}` : ""}`,
    allowed: `at most the camera's ${camera.widthPx} x ${camera.heightPx} px, whole, binned or cropped`,
    fix: turned
      ? "the frame was turned by a quarter: give it as the camera wrote it"
      : "correct widthPx and heightPx of the camera in the record, or name frames of this camera",
  };
}

/**
 * How a frame lies on the sensor of its record: whole, binned, or a crop.
 *
 * A frame of the sensor's size divided by a whole number is taken as binned; a smaller one as a crop, placed by its
 * header (XORGSUBF and YORGSUBF, or DETSEC), else at the centre with a warning, as field radii depend on it.
 * Yields a `Fault` frames/wrong-size for a frame that the sensor cannot hold. Pure.
 */
export function matchFrameToCamera(frame: FrameSize, camera: CameraSize): CameraMatch | Fault {
  const warnings: string[] = [];
  const stated = frame.header.binning;
  const whole = findWholeBinning(frame, camera);
  const binning = stated !== null && stated > 1 ? stated : (whole ?? 1);
  const isWhole =
    isBinnedSide(frame.widthPx, camera.widthPx, binning) &&
    isBinnedSide(frame.heightPx, camera.heightPx, binning);
  const spareX = camera.widthPx - frame.widthPx * binning;
  const spareY = camera.heightPx - frame.heightPx * binning;
  if (!isWhole && whole !== null && stated !== null) {
    // The header's binning does not bring the frame to the sensor's size, another one does.
    warnings.push(
      `The file's header says binning ${stated}, its size ${whole}: ${frame.widthPx} x ${frame.heightPx} px of ${camera.widthPx} x ${camera.heightPx}; the size was believed.`,
    );
    checkPitch(frame, camera, whole, warnings);
    return { binning: whole, offsetXPx: 0, offsetYPx: 0, umPerPx: camera.pixelPitchUm * whole, warnings };
  }
  const umPerPx = camera.pixelPitchUm * binning;
  if (isWhole) {
    if (binning > 1 && stated !== binning) {
      warnings.push(
        `The frame's size is the sensor's at binning ${binning}, which its header does not say; it was taken so.`,
      );
    }
    checkPitch(frame, camera, binning, warnings);
    return { binning, offsetXPx: 0, offsetYPx: 0, umPerPx, warnings };
  }
  if (spareX < 0 || spareY < 0) return makeSizeFault(frame, camera, binning);
  checkPitch(frame, camera, binning, warnings);
  const origin = readCropOrigin(frame, binning);
  if (origin !== null && origin.x >= 0 && origin.y >= 0 && origin.x <= spareX && origin.y <= spareY) {
    const topDown =
      frame.format !== "fits" || /^top[- _]?down$/i.test(frame.header.keywords["ROWORDER"] ?? "");
    return {
      binning,
      offsetXPx: origin.x,
      offsetYPx: topDown ? origin.y : spareY - origin.y,
      umPerPx,
      warnings,
    };
  }
  warnings.push(
    `The frame is a crop, ${frame.widthPx} x ${frame.heightPx} px of ${camera.widthPx} x ${camera.heightPx}, and its header does not say from where; it was taken from the sensor's centre.`,
  );
  return { binning, offsetXPx: Math.floor(spareX / 2), offsetYPx: Math.floor(spareY / 2), umPerPx, warnings };
}
