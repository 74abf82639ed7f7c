import { createHash } from "node:crypto";
import { mkdir, readdir, readFile, rm, stat } from "node:fs/promises";
import { join } from "node:path";
import { ReportError } from "../fault.ts";
import { decodeMeasurement } from "../measured/decode-measurement.ts";
import { encodeMeasurement } from "../measured/encode-measurement.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry } from "../records/types.ts";
import { decodeFrame } from "../stars/decode-frame.ts";
import { encodeFrame } from "../stars/encode-frame.ts";
import type { FrameMeasurement, MeasuringSettings } from "../stars/frame-measurement.ts";
import { replaceFile } from "./write-file.ts";

export const measuredFile = "measured.json";

/** Equal keys: the same bytes, measured with the same settings by the same code. */
export function makeFrameKey(sha256: string, settings: MeasuringSettings, code: string): string {
  const { cfa, gainElectronsPerAdu, readNoiseElectrons, saturationAdu } = settings;
  const text = JSON.stringify([sha256, cfa, gainElectronsPerAdu, readNoiseElectrons, saturationAdu, code]);
  return createHash("sha256").update(text).digest("hex").slice(0, 32);
}

/** The record's keys that change what is measured in a frame. */
export function readSettings(camera: {
  cfa?: MeasuringSettings["cfa"];
  gainElectronsPerAdu?: number;
  readNoiseElectrons?: number;
  saturationAdu?: number;
}): MeasuringSettings {
  return {
    cfa: camera.cfa ?? null,
    gainElectronsPerAdu: camera.gainElectronsPerAdu ?? null,
    readNoiseElectrons: camera.readNoiseElectrons ?? null,
    saturationAdu: camera.saturationAdu ?? null,
  };
}

/**
 * The stored measurement of a test, null where there is none. A file that cannot be read as one is a fault where
 * `required` (a build rests on it), else it counts as absent and is made again.
 */
export async function readMeasurement(
  test: TestEntry,
  required: boolean,
  decode = decodeMeasurement,
): Promise<TestMeasurement | null> {
  const file = join(test.dir, measuredFile);
  const text = await readFile(file, "utf8").catch((error: NodeJS.ErrnoException) => {
    if (error.code === "ENOENT") return null;
    throw error;
  });
  if (text === null) return null;
  const measurement = decode(text);
  if (measurement === null && required) {
    throw new ReportError([
      {
        code: "measure/damaged",
        file,
        found: "text that is no measurement of this program's, or one that was cut short or edited",
        allowed: "the file as `npm run measure` wrote it",
        fix: "fetch it back from your backup, or run  npm run measure  with the frames at hand",
      },
    ]);
  }
  return measurement;
}

/** Writes measured.json whole, unless it holds these very bytes already. */
export async function writeMeasurement(test: TestEntry, measurement: TestMeasurement): Promise<void> {
  const file = join(test.dir, measuredFile);
  const text = encodeMeasurement(measurement);
  if ((await readFile(file, "utf8").catch(() => null)) === text) return;
  await mkdir(test.dir, { recursive: true });
  await replaceFile(file, text);
}

/** Frames measured in a run that has not finished its test yet: an interrupted run goes on from here. */
export interface UnfinishedFrames {
  find: (key: string) => Promise<FrameMeasurement | null>;
  keep: (frame: FrameMeasurement) => Promise<FrameMeasurement>;
  drop: (keys: readonly string[]) => Promise<void>;
}

/** A measurement nobody asked for again within two weeks is not waited for. */
const longestKeptMs = 14 * 24 * 3600 * 1000;

export function openUnfinishedFrames(folder: string): UnfinishedFrames {
  const nameFile = (key: string) => join(folder, `${key}.json`);
  return {
    async find(key) {
      const text = await readFile(nameFile(key), "utf8").catch(() => null);
      const frame = text === null ? null : decodeFrame(text);
      return frame?.key === key ? frame : null;
    },
    async keep(frame) {
      await mkdir(folder, { recursive: true });
      const text = encodeFrame(frame);
      await replaceFile(nameFile(frame.key), text);
      // What later runs will read, rounding included: a first run and a later one give the same report.
      return decodeFrame(text) ?? frame;
    },
    async drop(keys) {
      await Promise.all(keys.map((key) => rm(nameFile(key), { force: true })));
      for (const name of await readdir(folder).catch(() => [])) {
        const file = join(folder, name);
        const facts = await stat(file).catch(() => null);
        if (facts !== null && Date.now() - facts.mtimeMs > longestKeptMs) await rm(file, { force: true });
      }
    },
  };
}
