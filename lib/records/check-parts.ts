import type { PartKind } from "./describe-keys.ts";
import { type Finding, readPath } from "./finding.ts";
import type { Camera, Corrector, Telescope } from "./types.ts";

/** Contradictions are between keys that each are possible alone. Limits are wide: common practice, no source. */
export function contradict(
  path: readonly PropertyKey[],
  found: string,
  allowed: string,
  fix: string,
): Finding {
  return { code: "records/contradiction", path, at: "value", found, allowed, fix };
}

const fastestFocalRatio = 1;
const slowestFocalRatio = 60;

export function checkTelescope(telescope: Telescope, path: readonly PropertyKey[]): Finding[] {
  const { apertureMm, focalLengthMm, obstructionMm } = telescope;
  const findings: Finding[] = [];
  const ratio = focalLengthMm / apertureMm;
  if (ratio < fastestFocalRatio || ratio > slowestFocalRatio) {
    findings.push(
      contradict(
        [...path, "focalLengthMm"],
        `${focalLengthMm} mm of focal length with ${apertureMm} mm of aperture, f/${ratio.toPrecision(3)}`,
        `f/${fastestFocalRatio} to f/${slowestFocalRatio}`,
        "one of the two is in another unit, or they are swapped: give both in mm",
      ),
    );
  }
  if (obstructionMm >= apertureMm) {
    findings.push(
      contradict(
        [...path, "obstructionMm"],
        `an obstruction of ${obstructionMm} mm in an aperture of ${apertureMm} mm`,
        "less than the aperture",
        "give the diameter of the secondary mirror's holder; 0 for a refractor",
      ),
    );
  }
  return findings;
}

/** How far from 1 a flattener's factor may be: those on sale stay within a few percent. Common practice, no source. */
const flattenerReach = 0.06;

/** `raw` is the corrector as written, to tell a factor of 1 from none. */
export function checkCorrector(corrector: Corrector, raw: unknown, path: readonly PropertyKey[]): Finding[] {
  const { kind, factor } = corrector;
  const at = [...path, "factor"];
  if (kind !== "flattener" && readPath(raw, ["factor"]) === undefined) {
    const example = kind === "reducer" ? "0.79" : "2.0";
    return [
      {
        code: "records/missing-key",
        path: at,
        at: "key",
        found: `no factor, of a corrector that is ${kind === "reducer" ? "a reducer" : "an extender"}`,
        allowed: kind === "reducer" ? "a number from 0.2 to below 1" : "a number above 1, to 8",
        fix: `add a line with your own value, such as  factor: ${example}`,
      },
    ];
  }
  const found = `the factor ${factor} of a corrector that is ${kind === "extender" ? "an" : "a"} ${kind}`;
  const inverse = Number((1 / factor).toPrecision(3));
  if (kind === "reducer" && factor >= 1) {
    const fix =
      factor > 1
        ? `write ${inverse} if ${factor} is its inverse, or kind: extender`
        : "write kind: flattener";
    return [contradict(at, found, "below 1: a reducer shortens the focal length", fix)];
  }
  if (kind === "extender" && factor <= 1) {
    const fix =
      factor < 1 ? `write ${inverse} if ${factor} is its inverse, or kind: reducer` : "write kind: flattener";
    return [contradict(at, found, "above 1: an extender lengthens the focal length", fix)];
  }
  if (kind === "flattener" && Math.abs(factor - 1) > flattenerReach) {
    const allowed = `from ${1 - flattenerReach} to ${1 + flattenerReach}: a flattener keeps the focal length`;
    return [
      contradict(
        at,
        found,
        allowed,
        `write kind: ${factor < 1 ? "reducer" : "extender"}, or mend the factor`,
      ),
    ];
  }
  return [];
}

/** Sensors of cameras for the sky, from the smallest guiding chip to a plate-sized mosaic. Common practice, no source. */
const smallestDiagonalMm = 1;
const largestDiagonalMm = 200;

export function checkCamera(camera: Camera, path: readonly PropertyKey[]): Finding[] {
  const { widthPx, heightPx, pixelPitchUm, saturationAdu, biasAdu } = camera;
  const findings: Finding[] = [];
  const diagonalMm = (Math.hypot(widthPx, heightPx) * pixelPitchUm) / 1000;
  if (diagonalMm < smallestDiagonalMm || diagonalMm > largestDiagonalMm) {
    findings.push(
      contradict(
        [...path, "pixelPitchUm"],
        `${widthPx} x ${heightPx} pixels of ${pixelPitchUm} um, a sensor ${diagonalMm.toPrecision(3)} mm across`,
        `a diagonal from ${smallestDiagonalMm} to ${largestDiagonalMm} mm`,
        "check widthPx, heightPx and pixelPitchUm against the camera's data sheet",
      ),
    );
  }
  if (saturationAdu !== undefined && biasAdu !== undefined && biasAdu >= saturationAdu) {
    findings.push(
      contradict(
        [...path, "saturationAdu"],
        `saturation at ${saturationAdu} ADU with a bias of ${biasAdu} ADU`,
        "more than the bias",
        "give both in the counts of the files as they are measured",
      ),
    );
  }
  return findings;
}

/** The contradictions within one part, as checked by its schema; `raw` is the part as written. */
export function checkPart(
  kind: PartKind,
  part: unknown,
  raw: unknown,
  path: readonly PropertyKey[],
): Finding[] {
  if (kind === "telescopes") return checkTelescope(part as Telescope, path);
  if (kind === "correctors") return checkCorrector(part as Corrector, raw, path);
  if (kind === "cameras") return checkCamera(part as Camera, path);
  return [];
}
