import type { Fault } from "../fault.ts";
import type { FlatsMeasurement } from "./flat-measurement.ts";

/** What stands for the level without light where no bias frame does. */
export interface Pedestal {
  from: FlatsMeasurement["zero"]["from"];
  adu: number;
}

/**
 * The pedestal of the record (camera.biasAdu) or of the flat's header (PEDESTAL, whose sign writers differ in: common
 * practice, no source); a fault where neither says, as a level guessed wrong by 1 % of the light darkens every corner by as much.
 */
export function choosePedestal(
  biasAdu: number | undefined,
  keywords: Readonly<Record<string, string>>,
  file: string,
): Pedestal | Fault {
  if (biasAdu !== undefined) return { from: "record", adu: biasAdu };
  const stated = Number.parseFloat(Object.hasOwn(keywords, "PEDESTAL") ? keywords["PEDESTAL"] : "");
  if (Number.isFinite(stated) && stated !== 0) return { from: "header", adu: Math.abs(stated) };
  return {
    code: "light/no-bias",
    file,
    found: "flats without bias frames, and no level without light on record",
    allowed:
      "bias frames or darks of the flats' exposure time under `bias`, or camera.biasAdu in the train's record",
    fix: "take a few bias frames with the same gain and offset, name them under `bias`, or state camera.biasAdu",
  };
}

/** Exposure times that differ by less than this share are the same. */
const sameWithin = 0.2;

/** What to say of darks that do not belong to the flats; null where they do. */
export function judgeDarkFlats(
  darkS: readonly (number | null)[],
  flatS: readonly (number | null)[],
): string | null {
  const known = (list: readonly (number | null)[]) => list.filter((value): value is number => value !== null);
  const [darks, flats] = [known(darkS), known(flatS)];
  if (darks.length === 0 || flats.length === 0) return null;
  const apart = darks.find((dark) => flats.every((flat) => Math.abs(dark - flat) > sameWithin * flat));
  if (apart === undefined) return null;
  return `A dark of ${apart} s was taken off flats of ${[...new Set(flats)].join(", ")} s: what glows or leaks in the one time is not what does in the other.`;
}
