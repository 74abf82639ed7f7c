import type { TrainResults } from "../report/results.ts";
import { isKnown } from "./words.ts";

/** A part between the last element and the sensor; distances from the sensor along the axis, mm. */
export interface SectionPart {
  name: string;
  farMm: number;
  nearMm: number;
  clearDiameterMm: number | null;
  plateShiftMm: number;
  /** Thickness of glass in the part, 0 where there is none. */
  glassMm: number;
  /** Clear diameter that the light to the sensor's very corner needs at the part's far end, mm. */
  lightDiameterMm: number;
}

export interface Section {
  parts: SectionPart[];
  /** From the last element's reference face to the sensor, mm. */
  mechanicalMm: number;
  /** Required back focus with the glass's shift added, mm; null without a corrector. */
  requiredMm: number | null;
  halfDiagonalMm: number;
  focalRatio: number;
  /** Distance of the exit pupil from the sensor; null: not on record, the light is taken as telecentric. */
  exitPupilMm: number | null;
  correctorName: string | null;
  /** Place of the part that limits the light in the corners, by the latest test; null where none takes more than 1 %. */
  limitingPart: number | null;
  /** Percent of light that it alone leaves there. */
  limitingPercent: number | null;
}

type Known = Record<string, unknown>;

function isRecord(value: unknown): value is Known {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function readNumber(value: unknown): number | null {
  return typeof value === "number" && Number.isFinite(value) ? value : null;
}

function readGlassMm(item: Known): number {
  return isRecord(item["glass"]) ? (readNumber(item["glass"]["thicknessMm"]) ?? 0) : 0;
}

/**
 * Half-height of the light to a point at height `heightMm` on the sensor, at a distance before it: the cone's half-width
 * d / (2 N) about a chief ray that starts from the exit pupil's middle.
 */
export function computeBeamEdge(
  section: Pick<Section, "exitPupilMm" | "focalRatio">,
  heightMm: number,
  distanceMm: number,
): [number, number] {
  const chief = section.exitPupilMm === null ? heightMm : heightMm * (1 - distanceMm / section.exitPupilMm);
  const half = distanceMm / (2 * section.focalRatio);
  return [chief - half, chief + half];
}

type BareLine = { part: string; lengthMm: number; plateShiftMm: number; clearDiameterMm: number | null };

/** Lines from the bare record, for a train without corrector, whose results carry no back-focus budget. */
function listRecordLines(train: Known): BareLine[] {
  const stack = Array.isArray(train["stack"]) ? train["stack"].filter(isRecord) : [];
  return stack.map((item) => {
    const spacers = Array.isArray(item["spacersMm"])
      ? item["spacersMm"].map((mm) => readNumber(mm) ?? 0)
      : [];
    return {
      part: typeof item["part"] === "string" ? item["part"] : "spacers",
      lengthMm: readNumber(item["lengthMm"]) ?? spacers.reduce((sum, mm) => sum + mm, 0),
      plateShiftMm: 0,
      clearDiameterMm: readNumber(item["clearDiameterMm"]),
    };
  });
}

/** The train from the last element to the sensor as lengths and diameters; null where the records do not give it. */
export function makeSection(results: TrainResults): Section | null {
  const train = isRecord(results.train) ? results.train : {};
  const camera = isRecord(train["camera"]) ? train["camera"] : {};
  const corrector = isRecord(train["corrector"]) ? train["corrector"] : {};
  const ratio = results.sampling.focalRatio;
  const pitchMm = (readNumber(camera["pixelPitchUm"]) ?? 0) / 1000;
  const sensor = results.tests[0]?.sensor ?? {
    widthMm: (readNumber(camera["widthPx"]) ?? 0) * pitchMm,
    heightMm: (readNumber(camera["heightPx"]) ?? 0) * pitchMm,
  };
  const halfDiagonalMm = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
  if (!isKnown(ratio) || !(ratio.value > 0) || !(halfDiagonalMm > 0)) return null;

  const budget = results.backFocus;
  const lines: BareLine[] = (budget?.lines ?? listRecordLines(train)).map((line) => ({ ...line }));
  const flangeMm = readNumber(camera["flangeMm"]) ?? 0;
  const given = lines.reduce((sum, line) => sum + line.lengthMm, 0);
  const wanted = isKnown(budget?.mechanical) ? budget.mechanical.value : given + flangeMm;
  const missing = wanted - given;
  if (missing > 0.01) {
    const name =
      typeof camera["name"] === "string" ? `${camera["name"]}, flange to sensor` : "camera flange to sensor";
    lines.push({ part: name, lengthMm: missing, plateShiftMm: 0, clearDiameterMm: null });
  }
  const mechanicalMm = lines.reduce((sum, line) => sum + line.lengthMm, 0);
  if (!(mechanicalMm > 0)) return null;

  const stack = Array.isArray(train["stack"]) ? train["stack"].filter(isRecord) : [];
  const frame = {
    mechanicalMm,
    requiredMm:
      isKnown(budget?.required) && isKnown(budget?.plateShift)
        ? budget.required.value + budget.plateShift.value
        : null,
    halfDiagonalMm,
    focalRatio: ratio.value,
    exitPupilMm: readNumber(corrector["exitPupilMm"]),
    correctorName: typeof corrector["name"] === "string" ? corrector["name"] : null,
  };
  let farMm = mechanicalMm;
  const parts = lines.map((line, k) => {
    const item = stack[k];
    const window = isRecord(camera["windowGlass"])
      ? (readNumber(camera["windowGlass"]["thicknessMm"]) ?? 0)
      : 0;
    const [low, high] = computeBeamEdge(frame, halfDiagonalMm, farMm);
    const part: SectionPart = {
      name: line.part,
      farMm,
      nearMm: farMm - line.lengthMm,
      clearDiameterMm: line.clearDiameterMm,
      plateShiftMm: line.plateShiftMm,
      glassMm: item !== undefined ? readGlassMm(item) : k === lines.length - 1 ? window : 0,
      lightDiameterMm: 2 * Math.max(Math.abs(low), Math.abs(high)),
    };
    farMm = part.nearMm;
    return part;
  });
  const limiting = findLimitingPart(results, parts);
  return {
    ...frame,
    parts,
    limitingPart: limiting?.place ?? null,
    limitingPercent: limiting?.percent ?? null,
  };
}

/** The part that the latest test's rings name as limiting, by its name, and what it alone leaves at the corner. */
function findLimitingPart(
  results: TrainResults,
  parts: readonly SectionPart[],
): { place: number; percent: number } | null {
  const rings = results.tests.at(-1)?.rings ?? null;
  const named = rings?.list.find(({ part }) => part === rings.limitingRing);
  if (named === undefined || !isKnown(named.corner)) return null;
  const place = parts.findIndex(
    ({ name, clearDiameterMm }) => name === named.part && clearDiameterMm === named.clearDiameterMm,
  );
  return place < 0 ? null : { place, percent: named.corner.value };
}

/** The part that leaves the corner's light the least room, and that room on each side, mm; null where no clear diameter is known. */
export function findTightestPart(section: Section): { part: SectionPart; roomMm: number } | null {
  let tightest: { part: SectionPart; roomMm: number } | null = null;
  for (const part of section.parts) {
    if (part.clearDiameterMm === null) continue;
    const roomMm = (part.clearDiameterMm - part.lightDiameterMm) / 2;
    if (tightest === null || roomMm < tightest.roomMm) tightest = { part, roomMm };
  }
  return tightest;
}
