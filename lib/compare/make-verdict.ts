import { ZONES } from "../field/geometry.ts";
import type { ComparedNights, Comparison, Verdict, VerdictUnit, Zone } from "../report/results.ts";
import { compareNights } from "./describe-nights.ts";
import { describeOverall } from "./describe-overall.ts";
import { describeUnits } from "./describe-verdict.ts";
import { findFocusedUm, type Judgement, judgeZones, VERDICT_UNITS } from "./judge-verdict.ts";
import type { ReadSide } from "./read-side.ts";

function readClasses(judged: Record<VerdictUnit, Judgement>): Record<VerdictUnit, Verdict> {
  return Object.fromEntries(VERDICT_UNITS.map((unit) => [unit, judged[unit].class])) as Record<
    VerdictUnit,
    Verdict
  >;
}

/** arcsec of one pixel of either side; null where one is not known. */
function readSampling(a: ReadSide, b: ReadSide): { a: number; b: number } | null {
  if (a.stars === null || b.stars === null) return null;
  return { a: a.stars.scale.arcsecPerPx, b: b.stars.scale.arcsecPerPx };
}

/** The verdict on the corners, unit by unit and as a whole, the classes of every zone, and the two nights. */
export function makeVerdict(
  a: ReadSide,
  b: ReadSide,
  compared: Pick<Comparison, "zones" | "matched" | "matchedWhy">,
): { nights: ComparedNights; verdict: Comparison["verdict"] } {
  const judged = judgeZones(compared, findFocusedUm(a, b));
  const sampling = readSampling(a, b);
  const nights = compareNights(a, b, readClasses(judged.corner));
  const units = describeUnits(judged.corner, compared, sampling);
  return {
    nights,
    verdict: {
      ...units,
      overall: describeOverall(units, nights, sampling),
      zones: Object.fromEntries(ZONES.map((zone) => [zone, readClasses(judged[zone])])) as Record<
        Zone,
        Record<VerdictUnit, Verdict>
      >,
    },
  };
}
