import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { decodeMatched, encodeMatched } from "../compare/matched-codec.ts";
import type { MatchedMeasurement } from "../compare/matched-measurement.ts";
import { ReportError } from "../fault.ts";
import { replaceFile } from "./write-file.ts";

/** Beside the comparison's record. */
export function nameMatchedFile(contentDir: string, comparison: string): string {
  return join(contentDir, "comparisons", `${comparison}.measured.json`);
}

/** Equal keys: the same frames brought to the same grid, with the same settings and code. */
export function makeMatchedKey(parts: {
  sha256s: readonly string[];
  channel: string;
  pixelRatio: number;
  gainElectronsPerAdu: number | null;
  saturationAdu: number | null;
  code: string;
}): string {
  const { sha256s, channel, pixelRatio, gainElectronsPerAdu, saturationAdu, code } = parts;
  const text = JSON.stringify([sha256s, channel, pixelRatio, gainElectronsPerAdu, saturationAdu, code]);
  return createHash("sha256").update(text).digest("hex").slice(0, 32);
}

/**
 * The stored measurement at matched sampling, null where there is none. A file that cannot be read as one is a fault where
 * `required` (a build rests on it), else it counts as absent and is made again.
 */
export async function readMatched(
  contentDir: string,
  comparison: string,
  required: boolean,
): Promise<MatchedMeasurement | null> {
  const file = nameMatchedFile(contentDir, comparison);
  const text = await readFile(file, "utf8").catch((error: NodeJS.ErrnoException) => {
    if (error.code === "ENOENT") return null;
    throw error;
  });
  if (text === null) return null;
  const measurement = decodeMatched(text);
  if (measurement === null && required) {
    throw new ReportError([
      {
        code: "measure/damaged",
        file,
        found: "text that is no measurement of this program's, or one that was cut short or edited",
        allowed: "the file as `npm run report` wrote it",
        fix: "fetch it back from your backup, or delete it and run  npm run report  with the frames at hand",
      },
    ]);
  }
  return measurement;
}

/** Writes the file whole, unless it holds these very bytes already. */
export async function writeMatched(
  contentDir: string,
  comparison: string,
  measurement: MatchedMeasurement,
): Promise<void> {
  const file = nameMatchedFile(contentDir, comparison);
  const text = encodeMatched(measurement);
  if ((await readFile(file, "utf8").catch(() => null)) === text) return;
  await replaceFile(file, text);
}
