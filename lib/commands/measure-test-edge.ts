import { createHash } from "node:crypto";
import { relative } from "node:path";
import type { EdgeFrame, EdgeMeasurement } from "../colour/edge-measurement.ts";
import { measureEdge } from "../colour/measure-edge.ts";
import { type Fault, ReportError } from "../fault.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import type { Frame } from "../frames/frame.ts";
import { load } from "../pipeline.ts";
import type { TestEntry, TrainEntry, TrainRecord } from "../records/types.ts";
import { chooseMainChannel } from "../report/choose-main-channel.ts";
import type { FileHashes } from "./file-hashes.ts";
import { type FoundFrame, locateFrames } from "./locate-frames.ts";

export interface EdgeBench {
  framesDir: string | null;
  /** Digest of the code that measures colour in pixels. */
  colourCode: string;
  hashes: FileHashes;
  onStep: (line: string) => void;
  recordDir?: string;
}

export interface EdgeOutcome {
  edge: EdgeMeasurement | null;
  /** Frames read in this run. */
  fresh: number;
}

/**
 * The Moon's limb in the frames that the record names. Nothing is read again where files, settings and code are those of what
 * is stored; without the files at hand what is stored holds. A frame without a usable limb is kept with a sentence why.
 *
 * @throws ReportError with the faults of every frame that cannot be read or is not of the record's camera
 */
export async function measureTestEdge(
  train: TrainEntry,
  test: TestEntry,
  stored: EdgeMeasurement | undefined,
  bench: EdgeBench,
): Promise<EdgeOutcome> {
  const asked = test.record.edge;
  if (asked === null) return { edge: null, fresh: 0 };
  const named = {
    ...test,
    dir: bench.recordDir ?? test.dir,
    record: { ...test.record, frames: asked.frames },
  };
  const { found, error } = await locateFrames(train, named, bench.framesDir);
  if (error !== null) {
    if (stored === undefined) throw error;
    bench.onStep(`${train.id}/${test.id}: edge frames are not all at hand, what was measured of them holds`);
    return { edge: stored, fresh: 0 };
  }
  const key = await makeKey(train, found, bench);
  if (stored?.key === key) return { edge: stored, fresh: 0 };
  const frames: EdgeFrame[] = [];
  const faults: Fault[] = [];
  for (const [index, { path, file }] of found.entries()) {
    try {
      const frame = await load(relative(process.cwd(), path), train);
      const measured = readEdge(frame, file, train.record);
      if ("code" in measured) faults.push(measured);
      else {
        frames.push(measured);
        const told = measured.warnings[0] ?? `${measured.stretches.length} stretches of limb`;
        bench.onStep(`${train.id}/${test.id}: edge frame ${index + 1} of ${found.length}, ${told}`);
      }
    } catch (caught) {
      if (!(caught instanceof ReportError)) throw caught;
      faults.push(...caught.faults);
    }
  }
  if (faults.length > 0) throw new ReportError(faults);
  return { edge: { key, frames }, fresh: frames.length };
}

function readEdge(frame: Frame, file: string, record: TrainRecord): EdgeFrame | Fault {
  const { keywords, binning } = frame.header;
  const [x, y] = [keywords.XORGSUBF, keywords.YORGSUBF].map((text) => Number.parseFloat(text ?? ""));
  const cropOriginPx = Number.isFinite(x) && Number.isFinite(y) ? { x, y } : null;
  const { widthPx, heightPx, sha256 } = frame;
  const found = findGeometry({ file, widthPx, heightPx, header: { binning, cropOriginPx } }, record.camera);
  if (isFault(found)) return found;
  const focalLengthMm = record.telescope.focalLengthMm * (record.corrector?.factor ?? 1);
  const measured = measureEdge({
    channels: frame.planes.map((plane) => ({
      channel: plane.channel,
      plane: { ...plane, widthPx, heightPx },
    })),
    main: chooseMainChannel(frame.planes.map(({ channel }) => channel)),
    arcsecPerPx: (206.264806 * found.geometry.umPerPx) / focalLengthMm,
    saturationAdu:
      record.camera.saturationAdu ??
      frame.header.saturationAdu ??
      frame.fullScaleAdu ??
      Number.POSITIVE_INFINITY,
  });
  return { file, sha256, widthPx, heightPx, binning: found.binning, cropOriginPx, ...measured };
}

/** Equal keys: the same files, read with the same settings by the same code. */
async function makeKey(train: TrainEntry, found: readonly FoundFrame[], bench: EdgeBench): Promise<string> {
  const files: [string, string][] = [];
  for (const { path, file } of found) files.push([file, await bench.hashes.hash(path)]);
  const { telescope, corrector, camera } = train.record;
  const { widthPx, heightPx, pixelPitchUm, cfa, saturationAdu } = camera;
  const settings = [
    telescope.focalLengthMm,
    corrector?.factor ?? 1,
    widthPx,
    heightPx,
    pixelPitchUm,
    cfa ?? null,
    saturationAdu ?? null,
  ];
  const text = JSON.stringify([files, settings, bench.colourCode]);
  return createHash("sha256").update(text).digest("hex").slice(0, 32);
}
