import { makeRandomSource } from "./simulator/random.ts";

/** What a night's logs are drawn from. */
export interface LogPlan {
  /** RMS of the mount's wander in a minute with the mean wind, arcsec: right ascension and declination. */
  raArcsec: number;
  decArcsec: number;
  /** Mean speed, and how far it swells and falls over some minutes, m/s. */
  windMean: number;
  windSwell: number;
  /** By how much the wander grows for each m/s above the mean wind, as a share. */
  growth: number;
  minutes: number;
  seed: number;
}

const guideStepS = 2;
const windStepS = 10;

/** Wind of a minute, m/s: two slow waves about the mean, never below a breath. */
function blow({ windMean, windSwell }: LogPlan, minute: number): number {
  const wave = 0.7 * Math.sin(minute / 1.9) + 0.3 * Math.sin(minute / 0.8 + 1);
  return Math.max(0.2, windMean + windSwell * wave);
}

/** The guider's log as CSV: Gaussian wander per axis that follows the wind, and one dither in the middle of the log. */
export function drawGuidingLog(plan: LogPlan): string {
  const { drawNormal } = makeRandomSource(plan.seed);
  const count = Math.round((60 * plan.minutes) / guideStepS);
  const dither = count >> 1;
  const rows = Array.from({ length: count }, (_, k) => {
    const timeS = k * guideStepS;
    const factor = 1 + plan.growth * (blow(plan, Math.floor(timeS / 60)) - plan.windMean);
    const knock = k === dither ? 9 : k === dither + 1 ? 4 : 0;
    const [ra, dec] = [plan.raArcsec * factor * drawNormal() + knock, plan.decArcsec * factor * drawNormal()];
    return `${timeS},${ra.toFixed(2)},${dec.toFixed(2)}`;
  });
  return `time_s,ra_arcsec,dec_arcsec\n${rows.join("\n")}\n`;
}

/** The wind's log as CSV: the same wind with gusts on it. */
export function drawWindLog(plan: LogPlan): string {
  const { drawNormal } = makeRandomSource(plan.seed + 1);
  const rows = Array.from({ length: Math.round((60 * plan.minutes) / windStepS) }, (_, k) => {
    const timeS = k * windStepS;
    const speed = blow(plan, Math.floor(timeS / 60)) * (1 + 0.15 * drawNormal());
    return `${timeS},${Math.max(0, speed).toFixed(1)}`;
  });
  return `time_s,speed_m_s\n${rows.join("\n")}\n`;
}
