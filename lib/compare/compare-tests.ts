import { recall } from "../maths/remember.ts";
import type { Comparison } from "../report/results.ts";
import { compareCurves } from "./compare-curves.ts";
import { compareEquipment } from "./compare-equipment.ts";
import { compareMatched } from "./compare-matched.ts";
import { compareScales } from "./compare-scales.ts";
import { compareZones } from "./compare-sharpness.ts";
import { takeComparedNumbers } from "./compared-numbers.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { describeSides, nameSides } from "./describe-sides.ts";
import { makeVerdict } from "./make-verdict.ts";
import type { MatchedMeasurement } from "./matched-measurement.ts";
import { chooseCommonNight, drawZones, readSameSide, readSide, SIDE_SEEDS } from "./read-side.ts";

function nameSide({ train, test }: ComparisonSide): { train: string; test: string } {
  return { train: train.id, test: test?.id ?? "" };
}

/**
 * Two tests side by side: the ratio of their scales, their widths by zone and unit, the finer at the coarser's sampling,
 * and what all of it allows to say. Pure: the same sides give the same comparison.
 *
 * @param stored - the finer side's frames on the coarser's grid, measured; null where that has not been done
 */
export function compareTests(request: ComparisonRequest, stored: MatchedMeasurement | null): Comparison {
  const numbers = takeComparedNumbers(request);
  const nameless = recall("compare/compare-tests", compareNumbers, numbers, stored);
  return { ...nameless, name: request.name, sides: nameSides(nameless.sides, request) };
}

function compareNumbers(request: ComparisonRequest, stored: MatchedMeasurement | null): Comparison {
  const scales = compareScales(request);
  const same =
    request.a.test !== null &&
    request.a.train.id === request.b.train.id &&
    request.a.test.id === request.b.test?.id;
  const { focalLength, from } = scales.scales;
  const [lengthA, lengthB] = [focalLength.a, focalLength.b].map(({ value }) =>
    from === "records" ? null : value,
  );
  const a = readSide(request.a, SIDE_SEEDS.a, lengthA);
  const b = same ? readSameSide(request.b) : readSide(request.b, SIDE_SEEDS.b, lengthB);
  const night = chooseCommonNight(a, b);
  const zones = compareZones(a, b, drawZones(a, night, SIDE_SEEDS.a), drawZones(b, night, SIDE_SEEDS.b));
  const matched = compareMatched(request, { a: a.stars, b: b.stars }, stored, scales.ratio);
  return {
    format: "rig-report-comparison/1",
    id: request.id,
    name: request.name,
    a: nameSide(request.a),
    b: nameSide(request.b),
    sides: describeSides(request, { a: a.stars?.scale, b: b.stars?.scale }),
    ...scales,
    zones,
    ...matched,
    curves: compareCurves(a, b),
    equipment: compareEquipment(request),
    ...makeVerdict(a, b, { zones, ...matched }),
  };
}
