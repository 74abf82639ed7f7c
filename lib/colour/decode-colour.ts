import * as z from "zod";
import type { ColourMeasurement } from "./colour-measurement.ts";
import type { EdgeMeasurement } from "./edge-measurement.ts";

/** Bounds of what a damaged or hostile file may hold; ours stay far below. */
const mostStars = 200;
const mostLeaning = 2000;
const mostRings = 40;
const mostStretches = 2000;
const mostFrames = 5000;

const text = z.string().max(4000);
const name = z.string().max(200);
const numbers = z.array(z.number()).max(mostStars);

const manyNumbers = z.array(z.number()).max(mostLeaning);

const storedLean = z
  .object({
    xPx: manyNumbers,
    yPx: manyNumbers,
    channels: z.record(name, z.object({ dxPx: manyNumbers, dyPx: manyNumbers, errPx: manyNumbers })),
  })
  .refine(({ xPx, yPx, channels }) =>
    [yPx, ...Object.values(channels).flatMap((part) => Object.values(part))].every(
      (list) => list.length === xPx.length,
    ),
  );

/** `colour` of measured.json. */
export const storedColour = z.object({
  key: text,
  halos: z
    .array(
      z
        .object({
          edgesPx: z.array(z.number()).min(2).max(mostRings),
          xPx: numbers,
          yPx: numbers,
          channels: z.record(name, z.array(z.array(z.number()).max(mostRings)).max(mostStars)),
        })
        .refine(({ xPx, yPx, channels }) =>
          [yPx, ...Object.values(channels)].every((list) => list.length === xPx.length),
        ),
    )
    .max(mostFrames),
  leans: z.array(storedLean.nullable()).max(mostFrames).default([]),
  crops: z
    .array(
      z.object({
        place: z.enum(["centre", "upperLeft", "upperRight", "lowerLeft", "lowerRight"]),
        channel: name,
        file: text,
        xPx: z.number(),
        yPx: z.number(),
        sidePx: z.int().positive().max(1000),
      }),
    )
    .max(100),
}) satisfies z.ZodType<ColourMeasurement>;

const spread = z.object({
  positionPx: z.number(),
  spreadPx: z.number(),
  fwhmPx: z.number(),
  mtf50: z.number(),
});

/** `edge` of measured.json. */
export const storedEdge = z.object({
  key: text,
  frames: z
    .array(
      z.object({
        file: text,
        sha256: text,
        widthPx: z.int().positive(),
        heightPx: z.int().positive(),
        binning: z.number().nullable(),
        cropOriginPx: z.object({ x: z.number(), y: z.number() }).nullable(),
        circle: z.object({ xPx: z.number(), yPx: z.number(), radiusPx: z.number() }).nullable(),
        stretches: z
          .array(
            z.object({
              angleDeg: z.number(),
              xPx: z.number(),
              yPx: z.number(),
              channels: z.record(name, spread),
            }),
          )
          .max(mostStretches),
        warnings: z.array(text).max(100),
      }),
    )
    .max(mostFrames),
}) satisfies z.ZodType<EdgeMeasurement>;
