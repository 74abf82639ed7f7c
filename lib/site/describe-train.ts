import type { Corrector, TrainRecord } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import { formatFocalRatio, formatPlain, formatQuantity } from "./format-number.ts";

/** The record inside a results object; `train` is plain data there so that the file stays readable by anyone. */
export function readTrainRecord(results: TrainResults): TrainRecord {
  return results.train as TrainRecord;
}

function describeCorrector(corrector: Corrector | null): string {
  if (corrector === null) return "used without a corrector";
  const factor = corrector.factor === 1 ? "" : `, factor ${formatPlain(corrector.factor)}`;
  return `with the ${corrector.kind} ${corrector.name}${factor}`;
}

const colourFilter = (cfa: string | undefined) =>
  cfa === undefined || cfa === "none"
    ? ""
    : ` behind ${/^[AEFHILMNORSX]/.test(cfa) ? "an" : "a"} ${cfa} colour-filter array`;

/** What the train is, in one sentence made from its record. */
export function describeTrain(results: TrainResults): string {
  const { telescope, corrector, camera } = readTrainRecord(results);
  const { focalLength, focalRatio } = results.sampling;
  const asUsed =
    focalLength.value === null || focalRatio.value === null
      ? ""
      : `, giving ${formatQuantity(focalLength)} at ${formatFocalRatio(focalRatio.value)}`;
  const obstruction =
    telescope.obstructionMm > 0
      ? ` and ${formatPlain(telescope.obstructionMm)} mm of central obstruction`
      : "";
  return (
    `The ${telescope.name}, ${formatPlain(telescope.apertureMm)} mm of aperture and ` +
    `${formatPlain(telescope.focalLengthMm)} mm of focal length${obstruction}, ${describeCorrector(corrector)}${asUsed}; ` +
    `camera ${camera.name} with ${camera.widthPx}\u00a0×\u00a0${camera.heightPx} pixels of ` +
    `${formatPlain(camera.pixelPitchUm)} µm${colourFilter(camera.cfa)}.`
  );
}

/** Author and club as one line; a club that signs for itself is named once. */
export function joinByline(author: string, club: string): string {
  return [...new Set([author, club])].filter((text) => text !== "").join(", ");
}
