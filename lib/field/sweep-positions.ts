import type { Fault } from "../fault.ts";

export interface SweepPlaces {
  /** One per frame, um, positive away from the telescope. */
  positionsUm: number[];
}

/** Where the sweep's frames were taken, in the frames' order, as record and headers have it. */
export interface SweepPositionRequest {
  positions: string | readonly number[];
  umPerStep: number;
  frames: readonly { file: string; asked: Readonly<Record<string, string>> }[];
  /** The record, for the message. */
  recordFile: string;
}

const key = "sweep.positions";

/**
 * Positions of a sweep in um from a list in the record or from a header keyword (`header:FOCUSPOS`). A list of another
 * length than there are frames, a header without a number, and positions that are all equal are faults.
 */
export function readSweepPositions(request: SweepPositionRequest): SweepPlaces | { faults: Fault[] } {
  const { positions, umPerStep, frames, recordFile } = request;
  const steps =
    typeof positions === "string" ? readHeaders(positions, request) : { list: positions, faults: [] };
  const faults: Fault[] = [...steps.faults];
  if (steps.list.length !== frames.length && faults.length === 0) {
    faults.push({
      code: "field/sweep-count",
      file: recordFile,
      key,
      found: `${steps.list.length} positions for ${frames.length} frames`,
      allowed: "one position per frame, in the order of the frames' names",
      fix: "complete the list, or name the header keyword that holds the position, for instance header:FOCUSPOS",
    });
  }
  if (!(Number.isFinite(umPerStep) && umPerStep !== 0)) {
    faults.push({
      code: "field/sweep-step",
      file: recordFile,
      key: "sweep.umPerStep",
      found: String(umPerStep),
      allowed:
        "how far the sensor moves in one step of the focuser, um, not zero; negative where steps count inwards",
      fix: "measure it: move 1000 steps and read the draw tube with a caliper",
    });
  }
  if (faults.length === 0 && new Set(steps.list).size === 1 && steps.list.length > 1) {
    faults.push({
      code: "field/sweep-equal",
      file: recordFile,
      key,
      found: `${steps.list.length} frames, all at position ${steps.list[0]}`,
      allowed: "positions that differ from frame to frame",
      fix: "enter the positions as the focuser showed them",
    });
  }
  if (faults.length > 0) return { faults };
  return { positionsUm: steps.list.map((step) => step * umPerStep) };
}

function readHeaders(asked: string, { frames }: SweepPositionRequest): { list: number[]; faults: Fault[] } {
  const keyword = asked.replace(/^header:/, "");
  const faults: Fault[] = [];
  const list = frames.map(({ file, asked: values }) => {
    const text = values[keyword];
    const value = text === undefined || text.trim() === "" ? Number.NaN : Number(text.trim());
    if (!Number.isFinite(value)) {
      faults.push({
        code: "field/sweep-header",
        file,
        key: keyword,
        found: text === undefined ? `no ${keyword} in the header` : JSON.stringify(text),
        allowed: "the focuser's position as a number",
        fix: "name another keyword in sweep.positions, or list the positions in the record",
      });
    }
    return value;
  });
  return { list, faults };
}
