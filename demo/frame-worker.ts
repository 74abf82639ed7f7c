import { mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { parentPort } from "node:worker_threads";
import type { FramePlan } from "./plan.ts";
import { drawFlat, type FlatExposure } from "./simulator/draw-flat.ts";
import { drawFrame } from "./simulator/draw-frame.ts";
import { drawMoon, type MoonExposure } from "./simulator/draw-moon.ts";
import { type CatalogueStar, makeSky } from "./simulator/make-sky.ts";
import type { StarTruth } from "./simulator/star-truth.ts";
import { encodeFits } from "./simulator/write-fits.ts";

/** Draws frames on a thread of its own: each message is a plan, each answer the file that now stands. */

interface CelestialFeature {
  properties: { mag: number; bv: string };
  geometry: { coordinates: [number, number] };
}

let catalogue: CatalogueStar[] | null = null;

function readCatalogue(): CatalogueStar[] {
  if (catalogue !== null) return catalogue;
  const file = createRequire(import.meta.url).resolve("d3-celestial/data/stars.8.json");
  const { features } = JSON.parse(readFileSync(file, "utf8")) as { features: CelestialFeature[] };
  catalogue = features.map(({ properties, geometry }) => {
    const colour = Number.parseFloat(properties.bv);
    return {
      rightAscensionDeg: geometry.coordinates[0],
      declinationDeg: geometry.coordinates[1],
      magnitude: properties.mag,
      colourIndex: Number.isFinite(colour) ? colour : 0.7,
    };
  });
  return catalogue;
}

/** Columns rounded to what a reader of the truth can use. */
function listTruth(truth: StarTruth): Record<string, (number | null)[]> {
  const round = (column: ArrayLike<number>, digits: number): (number | null)[] =>
    Array.from(column, (value) => (Number.isFinite(value) ? Number(value.toFixed(digits)) : null));
  return {
    xPx: round(truth.xPx, 4),
    yPx: round(truth.yPx, 4),
    fluxElectrons: round(truth.fluxElectrons, 1),
    fwhmMajorPx: round(truth.fwhmMajorPx, 5),
    fwhmMinorPx: round(truth.fwhmMinorPx, 5),
    angleDeg: round(truth.angleDeg, 3),
    saturated: round(truth.saturated, 0),
  };
}

/** Whole files only: written under a name of their own, then renamed. */
function writeWhole(file: string, content: string | Uint8Array): void {
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(`${file}.tmp`, content);
  renameSync(`${file}.tmp`, file);
}

/** A flat or a bias frame, and beside it the optics and the source that it shows. */
function makeFlat(plan: FramePlan, flat: FlatExposure, targetDir: string): void {
  const frame = drawFlat(plan.optics, plan.camera, flat, plan.seed);
  const file = join(targetDir, plan.file);
  const truth = { flat, rings: plan.optics.rings, exitPupilMm: plan.optics.exitPupilMm };
  writeWhole(file.replace(/\.fits$/, ".truth.json"), `${JSON.stringify(truth)}\n`);
  writeWhole(file, encodeFits(frame, plan.header, plan.rowsTopDown));
}

/** The Moon, and beside it the optics and colours that it shows. */
function makeMoon(plan: FramePlan, moon: MoonExposure, targetDir: string): void {
  const frame = drawMoon(moon, plan.optics, plan.camera, plan.exposure, plan.seed);
  const file = join(targetDir, plan.file);
  const { bands, dispersion, seeingArcsec } = plan.exposure;
  const truth = { moon, bands, dispersion, seeingArcsec, field: plan.optics.field };
  writeWhole(file.replace(/\.fits$/, ".truth.json"), `${JSON.stringify(truth)}\n`);
  writeWhole(file, encodeFits(frame, plan.header, plan.rowsTopDown));
}

function makeFrame(plan: FramePlan, targetDir: string): void {
  if (plan.flat !== undefined) {
    makeFlat(plan, plan.flat, targetDir);
    return;
  }
  if (plan.moon !== undefined) {
    makeMoon(plan, plan.moon, targetDir);
    return;
  }
  const scene = {
    stars: makeSky(plan.sky, readCatalogue()),
    placed: null,
    nebulae: plan.nebulae,
    trails: plan.trails,
    cosmicRays: plan.cosmicRays,
  };
  const frame = drawFrame(scene, plan.optics, plan.camera, plan.exposure, plan.seed);
  const channels = Object.fromEntries(
    Object.entries(frame.channels).map(([name, truth]) => [name, listTruth(truth)]),
  );
  const truth = { field: plan.optics.field, seeingArcsec: plan.exposure.seeingArcsec, channels };
  const file = join(targetDir, plan.file);
  writeWhole(file.replace(/\.fits$/, ".truth.json"), `${JSON.stringify(truth)}\n`);
  writeWhole(file, encodeFits(frame, plan.header, plan.rowsTopDown));
}

parentPort?.on("message", ({ plan, targetDir }: { plan: FramePlan; targetDir: string }) => {
  try {
    makeFrame(plan, targetDir);
    parentPort?.postMessage({ file: plan.file, error: null });
  } catch (error) {
    parentPort?.postMessage({
      file: plan.file,
      error: error instanceof Error ? error.message : String(error),
    });
  }
});
