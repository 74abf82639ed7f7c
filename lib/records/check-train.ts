import { checkCamera, checkCorrector, checkTelescope, contradict } from "./check-parts.ts";
import { type Finding, readPath } from "./finding.ts";
import type { Adjuster, Camera, ShimPlaces, StackItem, TrainRecord } from "./types.ts";

/** What contradicts itself in a train whose keys each are possible; `raw` is the record with its parts in place. */
export function checkTrain(train: TrainRecord, raw: unknown): Finding[] {
  return [
    ...checkTelescope(train.telescope, ["telescope"]),
    ...(train.corrector === null
      ? []
      : checkCorrector(train.corrector, readPath(raw, ["corrector"]), ["corrector"])),
    ...checkCamera(train.camera, ["camera"]),
    ...checkSpacers(train.stack),
    ...checkOpenings(train.stack, train.camera),
    ...(train.adjuster === null ? [] : checkAdjuster(train.adjuster)),
  ];
}

function checkSpacers(stack: readonly StackItem[]): Finding[] {
  const places = stack.flatMap((item, index) => ("spacersMm" in item ? [index] : []));
  return places
    .slice(1)
    .map((index) =>
      contradict(
        ["stack", index],
        "a second place for spacers",
        "one place: test.yaml replaces its list as a whole",
        "put all spacers into one list, or enter the fixed ones as parts with lengthMm",
      ),
    );
}

/**
 * An opening narrower than half the sensor's short side would leave most of the sensor dark: a slip, for nobody tests
 * such a train. Common practice, no source.
 */
function checkOpenings(stack: readonly StackItem[], camera: Camera): Finding[] {
  const shortSideMm = (Math.min(camera.widthPx, camera.heightPx) * camera.pixelPitchUm) / 1000;
  return stack.flatMap(({ clearDiameterMm }, index) => {
    if (clearDiameterMm === undefined || clearDiameterMm >= shortSideMm / 2) return [];
    return [
      contradict(
        ["stack", index, "clearDiameterMm"],
        `an opening of ${clearDiameterMm} mm before a sensor ${shortSideMm.toFixed(1)} mm high`,
        `at least half of that, ${(shortSideMm / 2).toFixed(1)} mm`,
        "give the diameter, not the radius, in mm",
      ),
    ];
  });
}

/** Closer screws do not tip anything; angles this close are one screw entered twice. Common practice, no source. */
const closestScrewsDeg = 10;

function checkAdjuster(adjuster: Adjuster | ShimPlaces): Finding[] {
  if ("screws" in adjuster) return checkAngles(adjuster.screws, "screws", "screw");
  return [...checkAngles(adjuster.shims, "shims", "shim"), ...checkSpan(adjuster.shims)];
}

/** Shims can only lay thickness under: with all places on one side the plate would have nothing to stand on. */
function checkSpan(places: readonly { angleDeg: number }[]): Finding[] {
  const angles = places.map(({ angleDeg }) => ((angleDeg % 360) + 360) % 360).sort((a, b) => a - b);
  const widest = Math.max(...angles.map((angle, k) => (angles[k + 1] ?? angles[0] + 360) - angle));
  if (widest < 180) return [];
  return [
    contradict(
      ["adjuster", "shims"],
      `places that leave ${Math.round(widest)} deg of the flange free`,
      "places with less than 180 deg between neighbours",
      "spread the places around the flange, for instance 90, 210 and 330",
    ),
  ];
}

function checkAngles(
  places: readonly { angleDeg: number }[],
  key: "screws" | "shims",
  name: string,
): Finding[] {
  const angles = places.map(({ angleDeg }) => angleDeg);
  return angles.flatMap((angleDeg, index) => {
    const isNear = angles.slice(0, index).some((other) => {
      const apart = (((angleDeg - other) % 360) + 360) % 360;
      return Math.min(apart, 360 - apart) < closestScrewsDeg;
    });
    if (!isNear) return [];
    return [
      contradict(
        ["adjuster", key, index, "angleDeg"],
        `a ${name} at ${angleDeg} deg, where another is already`,
        `angles at least ${closestScrewsDeg} deg apart`,
        `give each ${name} its own angle, for instance 90, 210 and 330`,
      ),
    ];
  });
}
