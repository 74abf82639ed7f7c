import type { FieldAberrations } from "../../demo/simulator/conditions.ts";
import type { ComparisonSide } from "../../lib/compare/comparison-side.ts";
import { computeHalfDiagonalMm, locateOnSensor, makeFullGeometry } from "../../lib/field/geometry.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import type { TestResults } from "../../lib/report/results.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { makeStarTable, type StarTable } from "../../lib/stars/star-table.ts";
import { computeTrueNodes, type ShapeReader, type SimulatedTrain } from "../field/simulate-tables.ts";

/** A train, its aberrations and a night, as the simulator draws them. */
export interface SidePlan {
  train: SimulatedTrain;
  field: Partial<FieldAberrations>;
  seeingArcsec: number;
  jitterArcsec: number;
}

export const native: SimulatedTrain = {
  apertureMm: 115,
  focalLengthMm: 805,
  obstructionMm: 0,
  sensorPx: [6248, 4176],
  pixelPitchUm: 3.76,
};

/** The same telescope at 0.73 of its focal length. */
export const reduced: SimulatedTrain = { ...native, focalLengthMm: 0.73 * 805 };

/** True shapes at the nodes over the sensor: ln(width, px), e1, e2. */
export function computeNodes({
  train,
  field,
  seeingArcsec,
  jitterArcsec,
}: SidePlan): [number, number, number][] {
  const jitter = { majorRmsArcsec: jitterArcsec, minorRmsArcsec: 0.8 * jitterArcsec, angleDeg: 90 };
  return computeTrueNodes({ train, field, seeingArcsec, tracking: { jitter } });
}

export interface DrawnNight {
  seed: number;
  stars: number;
  frames: number;
  /** One sigma of what the air adds to a frame's widths, a share. */
  frameScatter: number;
}

/**
 * Tables of a night's frames: the same stars in each, with noise as measured stars have it, what the air adds to each
 * frame, and the faults of a learned profile: 0.4 % on all widths of a frame and 0.3 % of its corners against its centre.
 */
export function drawNight(train: SimulatedTrain, shapes: ShapeReader, night: DrawnNight): StarTable[] {
  const random = makeRandom(night.seed);
  const normal = makeNormalRandom(random);
  const geometry = makeFullGeometry(train.sensorPx[0], train.sensorPx[1], train.pixelPitchUm);
  const half = computeHalfDiagonalMm(geometry);
  const sky = Array.from({ length: night.stars }, () => ({
    xPx: 15 + random() * (geometry.widthPx - 30),
    yPx: 15 + random() * (geometry.heightPx - 30),
    snr: Math.min(2000, 16 * (1 - random()) ** -0.8),
    own: Math.exp(0.005 * normal()),
  })).sort((one, other) => other.snr - one.snr);
  return Array.from({ length: night.frames }, () => {
    const table = makeStarTable(night.stars);
    const [air, common, contrast] = [night.frameScatter, 0.004, 0.003].map((sigma) => sigma * normal());
    sky.forEach(({ xPx, yPx, snr, own }, row) => {
      const { x, y } = locateOnSensor(geometry, xPx, yPx);
      const [lnWidth, e1, e2] = shapes(x, y);
      const bent = contrast * ((x * x + y * y) / half ** 2 / 0.8);
      const width = Math.exp(lnWidth + air + common + bent + (0.7 / snr) * normal()) * own;
      const noise = Math.hypot(1.2 / snr, 0.003);
      table.xPx[row] = xPx + 0.02 * normal();
      table.yPx[row] = yPx + 0.02 * normal();
      writeShape(table, row, width, e1 + noise * normal(), e2 + noise * normal());
      table.fluxAdu[row] = 1000 * snr;
      table.snr[row] = snr;
      table.fwhmErr[row] = 0.7 / snr;
      table.eErr[row] = 1.2 / snr;
      table.flags[row] = 0;
    });
    return table;
  });
}

/** A side with these tables: its records and results as far as the comparison of sharpness reads them. */
export function makeSide(
  train: SimulatedTrain,
  tables: StarTable[],
  id: string,
  date: string,
): ComparisonSide {
  const { apertureMm, obstructionMm, focalLengthMm, pixelPitchUm, sensorPx } = train;
  const scale = {
    umPerPx: pixelPitchUm,
    arcsecPerPx: (206.264806 * pixelPitchUm) / focalLengthMm,
    focalLengthMm,
    from: "record",
  };
  const source = { file: "train.yaml", text: "", sha256: "" };
  const results: Pick<TestResults, "scale" | "zones" | "channel" | "record" | "field" | "night" | "sensor"> =
    {
      scale,
      zones: null,
      channel: "L",
      record: {
        spacersMm: null,
        filter: null,
        cameraAngleDeg: null,
        altitudeDeg: 60,
        conditions: {},
        notesMarkdown: "",
      },
      field: null,
      night: null,
      sensor: {
        widthMm: (sensorPx[0] * pixelPitchUm) / 1000,
        heightMm: (sensorPx[1] * pixelPitchUm) / 1000,
      },
    };
  return {
    train: {
      id,
      dir: "",
      record: {
        name: id,
        telescope: { name: "Tarnlight 115", apertureMm, focalLengthMm, obstructionMm },
        corrector: null,
        stack: [],
        camera: {
          name: "Heron 26",
          widthPx: sensorPx[0],
          heightPx: sensorPx[1],
          pixelPitchUm,
          flangeMm: 17.5,
          windowGlass: { thicknessMm: 0, index: 1.517 },
        },
        spacersOwnedMm: [],
        adjuster: null,
        tolerances: {},
      } as unknown as ComparisonSide["train"]["record"],
      source,
      partSources: [],
      review: null,
      tests: [],
    },
    test: {
      id: date,
      dir: "",
      record: {
        date,
        frames: [],
        focusOffsetUm: 0,
        flats: [],
        bias: [],
        sweep: null,
        spacersMm: null,
        filter: { name: "clear", wavelengthNm: 545 },
        cameraAngleDeg: null,
        altitudeDeg: 60,
        starTable: null,
        guiding: null,
        wind: null,
        conditions: {},
        notes: "",
      } as unknown as NonNullable<ComparisonSide["test"]>["record"],
      source,
      starTableText: null,
    },
    results: results as TestResults,
    trainResults: null,
    measurement: null,
    tables,
    geometry: makeFullGeometry(sensorPx[0], sensorPx[1], pixelPitchUm),
  };
}
