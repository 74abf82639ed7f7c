import type { ByteSource } from "./byte-source.ts";
import { isTrue } from "./fits-header.ts";
import { describeFitsUnit, holdsFrame } from "./fits-layout.ts";
import { countFillBytes, type FitsUnit, readFitsUnit } from "./fits-unit.ts";
import { makeFrameError } from "./frame-fault.ts";
import { FRAME_LIMITS } from "./frame-limits.ts";

/** The unit with the frame, the source standing at its data; and the primary header where its keywords hold too. */
export interface FoundUnit {
  unit: FitsUnit;
  inherited: FitsUnit | null;
}

/** The primary header's keywords hold for an extension if it says so, or if the primary has no data of its own. */
function judgeInheritance(primary: FitsUnit | null, unit: FitsUnit): FitsUnit | null {
  if (primary === null || unit.index === 0) return null;
  return primary.dataBytes === 0 || isTrue(unit.header, "INHERIT") ? primary : null;
}

/** Data that the header promises and the file does not have; known beforehand where the file's size is. */
function checkDataIsThere(source: ByteSource, unit: FitsUnit): void {
  if (source.bytesLeft !== null && unit.dataBytes > source.bytesLeft) {
    throw makeTruncatedError(source.file, unit.dataBytes, source.bytesLeft);
  }
}

/** The fault of a file that ends within its data. */
export function makeTruncatedError(file: string, promisedBytes: number, foundBytes: number): Error {
  return makeFrameError({
    code: "frames/truncated",
    file,
    found: `${foundBytes} bytes of data where the header promises ${promisedBytes}`,
    allowed: "a whole file",
    fix: "copy the file again from the camera's computer; if it is short there too, leave it out of the record",
  });
}

/**
 * Goes through the units up to the frame: the first that holds one, or the unit `hdu` (0 is the primary).
 * Throws `ReportError`: frames/fits-no-image listing what the file holds, and all of `readFitsUnit`.
 */
export async function findFrameUnit(source: ByteSource, hdu?: number): Promise<FoundUnit> {
  const seen: string[] = [];
  let primary: FitsUnit | null = null;
  for (let index = 0; index < FRAME_LIMITS.maxUnits; index++) {
    const unit = await readFitsUnit(source, index);
    if (unit === null) break;
    if (index === 0) primary = unit;
    seen.push(describeFitsUnit(unit));
    const wanted = hdu === undefined ? holdsFrame(unit) : index === hdu;
    if (wanted) {
      if (!holdsFrame(unit)) break;
      checkDataIsThere(source, unit);
      return { unit, inherited: judgeInheritance(primary, unit) };
    }
    checkDataIsThere(source, unit);
    const toSkip = unit.dataBytes + countFillBytes(unit.dataBytes);
    if ((await source.skip(toSkip)) < toSkip) break;
  }
  throw makeFrameError({
    code: "frames/fits-no-image",
    file: source.file,
    found: seen.join("; "),
    allowed: `${hdu === undefined ? "a unit with an image" : `an image in unit ${hdu}`} of two axes, or of a third axis of 1 or 3 planes`,
    fix: "name the unit that holds the frame, or save one picture for each file",
  });
}
