import type { ComparisonSide } from "../../lib/compare/comparison-side.ts";
import { measureField } from "../../lib/field/measure-field.ts";
import { makeExact } from "../../lib/maths/quantity.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { makeStarTable, type StarTable } from "../../lib/stars/star-table.ts";
import { type DrawnView, drawSky, drawView } from "./draw-star-pair.ts";
import { makeSide, native } from "./simulate-sides.ts";

/** How one side of a pair that shares its sky was set up, and what its records say. */
export interface CommonSide {
  id: string;
  /** As the optics really had it; the record has 805 mm, times `factor` where there is a corrector. */
  trueFocalLengthMm: number;
  factor?: number;
  spacingErrorMm?: number;
  fwhmPx?: number;
  turnDeg?: number;
  mirrored?: boolean;
  shiftPx?: DrawnView["shiftPx"];
  faintest?: number;
  /** Growth of radii at the corner, a share. */
  distortion?: number;
  errorPx?: number;
  /** Seed of the noise; that of the sky says which field it is. */
  seed: number;
  sky?: number;
}

const pitchMm = native.pixelPitchUm / 1000;

function drawTable(side: CommonSide): StarTable {
  const sky = drawSky(900, 0.024, side.sky ?? 1);
  const { list } = drawView(
    sky,
    {
      widthPx: native.sensorPx[0],
      heightPx: native.sensorPx[1],
      focalPx: side.trueFocalLengthMm / pitchMm,
      turnDeg: side.turnDeg ?? 0,
      shiftPx: side.shiftPx ?? { x: 0, y: 0 },
      mirrored: side.mirrored ?? false,
      faintest: side.faintest ?? 10,
      distortion: side.distortion ?? 0,
      errorPx: side.errorPx ?? 0.05,
    },
    side.seed,
  );
  const table = makeStarTable(list.x.length);
  for (let row = 0; row < list.x.length; row++) {
    table.xPx[row] = list.x[row];
    table.yPx[row] = -list.y[row];
    table.fluxAdu[row] = 1e6 / (row + 1);
    table.snr[row] = 200;
    table.xErrPx[row] = table.yErrPx[row] = 0.05;
    table.fwhmErr[row] = 0.005;
    table.eErr[row] = 0.01;
    // A width that scatters by half a percent from star to star, without a pattern.
    writeShape(
      table,
      row,
      (side.fwhmPx ?? 3) * (1 + 0.005 * Math.sin(7 * row)),
      0.004 * Math.cos(5 * row),
      0,
    );
  }
  return table;
}

/** A side of one frame, with the zones that its page would have. */
export function drawCommonSide(side: CommonSide): ComparisonSide {
  const table = drawTable(side);
  const made = makeSide(
    { ...native, focalLengthMm: 805 * (side.factor ?? 1) },
    [table],
    side.id,
    "2026-10-03",
  );
  const { record } = made.train;
  const corrector =
    side.factor === undefined
      ? null
      : {
          name: "Tarnlight R73",
          kind: "reducer",
          factor: side.factor,
          backFocusMm: 55,
          radialMeans: "unknown",
        };
  const { results, geometry } = made;
  if (results === null || geometry === null) throw new Error("no results");
  const { zones } = measureField([table], geometry, results.scale);
  const spacingError = side.spacingErrorMm === undefined ? null : makeExact(side.spacingErrorMm, "mm");
  return {
    ...made,
    train: {
      ...made.train,
      record: {
        ...record,
        corrector,
        telescope: { ...record.telescope, focalLengthMm: 805 },
      } as typeof record,
    },
    results: { ...results, zones, spacingError },
  };
}

/** The side with a plate solution in its frame's header, of this image scale. */
export function addPlateSolution(side: ComparisonSide, wcsScaleArcsecPerPx: number): ComparisonSide {
  const header = { wcsScaleArcsecPerPx, exposureS: 60 };
  return {
    ...side,
    measurement: { frames: [{ header, channels: [] }] } as unknown as ComparisonSide["measurement"],
  };
}
