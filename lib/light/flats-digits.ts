import * as z from "zod";
import type { FlatChannel, FlatsMeasurement } from "./flat-measurement.ts";

/** Bounds of what is read back: a damaged or hostile file is not to fill the memory. */
const text = z.string().max(4000);
const list = z.array(z.number()).max(100_000);
const place = z.object({ x: z.number(), y: z.number() });
const estimate = z.object({ value: z.number(), error: z.number().nonnegative() });
const placeEstimate = z.object({ x: estimate, y: estimate });

const lightMap = z
  .object({
    centre: place,
    gradient: place,
    radialStepMm: z.number().positive(),
    radial: list.min(4),
    mesh: z.object({
      columns: z.int().min(4).max(1000),
      rows: z.int().min(4).max(1000),
      stepMm: z.number().positive(),
      leftMm: z.number(),
      lowerMm: z.number(),
      values: list,
    }),
  })
  .refine(({ mesh }) => mesh.values.length === mesh.columns * mesh.rows, { error: "a mesh of another size" });

const channel = z.object({
  channel: text,
  frames: z.int().positive(),
  levelAdu: z.number(),
  levelShare: z.number().nullable(),
  map: lightMap,
  corners: z
    .object({ upperLeft: estimate, upperRight: estimate, lowerLeft: estimate, lowerRight: estimate })
    .nullable(),
  falloffPercent: estimate.nullable(),
  brightest: placeEstimate,
  gradient: placeEstimate,
  symmetry: placeEstimate.nullable(),
  fullyLitRadiusMm: estimate.nullable(),
  rings: z
    .array(z.object({ rMm: z.number(), mean: z.number(), least: z.number(), most: z.number() }))
    .max(1000),
  masked: z.object({
    dustSpots: z.int().nonnegative(),
    dustPercent: z.number(),
    pixelPercent: z.number(),
    starCells: z.int().nonnegative(),
  }),
  cellScatterPercent: z.number(),
  cornerScatterPercent: z.number().nullable(),
  transfer: z
    .object({
      gainElectronsPerAdu: estimate,
      readNoiseElectrons: estimate.nullable(),
      flatPairs: z.int().nonnegative(),
      biasPairs: z.int().nonnegative(),
    })
    .nullable(),
});

/** Shape of the flats' part of measured.json. */
export const storedFlats = z.object({
  key: text,
  files: z
    .array(
      z.object({
        file: text,
        sha256: text,
        role: z.enum(["flat", "zero"]),
        exposureS: z.number().nullable(),
        filter: text.nullable(),
      }),
    )
    .max(20_000),
  widthPx: z.int().positive(),
  heightPx: z.int().positive(),
  binning: z.int().positive(),
  zero: z.object({ from: z.enum(["bias", "darkFlats", "record", "header"]), adu: z.number() }),
  channels: z.array(channel).min(1).max(64),
  warnings: z.array(text).max(1000),
}) satisfies z.ZodType<FlatsMeasurement>;

/** Light is kept to a millionth of the brightest, other numbers to six significant digits: far below their errors. */
const roundLight = (values: readonly number[]) => values.map((value) => Number(value.toFixed(6)) + 0);

function roundNumbers<T>(value: T): T {
  if (typeof value === "number") return (Number.isInteger(value) ? value : Number(value.toPrecision(6))) as T;
  if (Array.isArray(value)) return value.map(roundNumbers) as T;
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, roundNumbers(item)])) as T;
}

function roundChannel(measured: FlatChannel): FlatChannel {
  const { map, ...rest } = measured;
  return {
    ...roundNumbers(rest),
    map: {
      ...roundNumbers({ ...map, radial: [] }),
      radial: roundLight(map.radial),
      mesh: { ...roundNumbers({ ...map.mesh, values: [] }), values: roundLight(map.mesh.values) },
    },
  };
}

/** The flats as they are stored: numbers rounded, so that a first run and a later one give the same report. */
export function roundFlats(flats: FlatsMeasurement): FlatsMeasurement {
  return { ...flats, zero: roundNumbers(flats.zero), channels: flats.channels.map(roundChannel) };
}
