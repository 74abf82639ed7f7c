import type { LogPlan } from "./draw-logs.ts";
import { nights } from "./nights.ts";

export interface NightLogs {
  /** Folder of the test's record below demo/content/trains. */
  test: string;
  plan: LogPlan;
}

/** The mount's wander of a night's frames, the mean over them, as their simulator was told it. */
function readWander(folder: string): { raArcsec: number; decArcsec: number } {
  const frames = nights.find((night) => night.folder === folder)?.frames ?? [];
  const mean = (read: (jitter: { majorRmsArcsec: number; minorRmsArcsec: number }) => number) =>
    frames.reduce((sum, { tracking: { jitter } }) => sum + (jitter === undefined ? 0 : read(jitter)), 0) /
    frames.length;
  return {
    raArcsec: mean(({ majorRmsArcsec }) => majorRmsArcsec),
    decArcsec: mean(({ minorRmsArcsec }) => minorRmsArcsec),
  };
}

const calm = { windMean: 0.9, windSwell: 0.4, growth: 0, minutes: 14 };
const gusty = { windMean: 3.2, windSwell: 1.8, growth: 0.18, minutes: 14 };

/** The nights whose logs were kept: two calm ones and one with gusts that the mount felt. */
export const logs: readonly NightLogs[] = [
  { folder: "tarn-115-native/2026-10-03", weather: calm, seed: 6100 },
  { folder: "tarn-115-reduced/2026-10-09", weather: calm, seed: 6200 },
  { folder: "tarn-115-reduced/2026-10-17", weather: gusty, seed: 6300 },
].map(({ folder, weather, seed }) => {
  const [train, test] = folder.split("/");
  return { test: `${train}/tests/${test}`, plan: { ...weather, ...readWander(folder), seed } };
});
