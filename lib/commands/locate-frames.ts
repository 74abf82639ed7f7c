import { join, relative } from "node:path";
import { ReportError } from "../fault.ts";
import { expandFrames } from "../frames/open.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";

/** A frame file at hand. */
export interface FoundFrame {
  path: string;
  /** As the record's folder sees it, with forward slashes; never an absolute path, which would tell of the machine. */
  file: string;
}

export interface FrameSearch {
  found: FoundFrame[];
  /** Why none was found, when none was. */
  error: ReportError | null;
}

/**
 * The frames that a test's record names: relative to the record's folder, or else under the folder of `--frames`, where
 * they may lie as in the content folder, by train and test, or all together.
 */
export async function locateFrames(
  train: TrainEntry,
  test: TestEntry,
  framesDir: string | null,
): Promise<FrameSearch> {
  const bases = [test.dir];
  if (framesDir !== null) {
    bases.push(
      join(framesDir, "trains", train.id, "tests", test.id),
      join(framesDir, train.id, test.id),
      framesDir,
    );
  }
  let error: ReportError | null = null;
  for (const base of bases) {
    try {
      const paths = await expandFrames(test.record.frames, base);
      return { found: paths.map((path) => ({ path, file: nameFrame(base, path) })), error: null };
    } catch (caught) {
      if (!(caught instanceof ReportError)) throw caught;
      error ??= caught;
    }
  }
  return { found: [], error };
}

function nameFrame(base: string, path: string): string {
  return relative(base, path).replaceAll("\\", "/");
}
