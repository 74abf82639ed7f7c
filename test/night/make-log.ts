import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import type { NightLog } from "../../lib/night/read-log.ts";

export interface LogTruth {
  samples: number;
  stepS: number;
  raArcsec: number;
  decArcsec: number;
  /** Of neighbouring samples: 0 for noise without memory. */
  memory?: number;
  driftArcsecPerMin?: number;
  seed: number;
}

/** A guider's log of known truth: Gaussian error of the stated RMS, each sample remembering the one before. */
export function makeGuidingLog(truth: LogTruth): NightLog {
  const normal = makeNormalRandom(makeRandom(truth.seed));
  const memory = truth.memory ?? 0;
  const wander = (rms: number) => {
    let place = normal();
    return Float64Array.from({ length: truth.samples }, () => {
      place = memory * place + Math.sqrt(1 - memory ** 2) * normal();
      return rms * place;
    });
  };
  const timeS = Float64Array.from({ length: truth.samples }, (_, k) => k * truth.stepS);
  const drift = truth.driftArcsecPerMin ?? 0;
  return {
    timeS,
    columns: {
      ra_arcsec: wander(truth.raArcsec),
      dec_arcsec: wander(truth.decArcsec).map((value, k) => value + (drift * timeS[k]) / 60),
    },
    skipped: 0,
  };
}
