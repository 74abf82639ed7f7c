import { ZONES } from "../field/geometry.ts";
import { settle } from "../maths/digest-data.ts";
import { remember } from "../maths/remember.ts";
import type { Zone } from "../report/results.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { type Drawn, drawContrast, drawWidth } from "./draw-widths.ts";
import { drawOwnBlur, type NightRemoval, type OwnBlur } from "./remove-night.ts";
import { predictFocusedUm, readNightArcsec, removeNight } from "./side-night.ts";
import { gatherStars, type SideStars } from "./side-stars.ts";
import { useFocalLength } from "./use-scale.ts";

/** One side of a comparison, its stars gathered and its night told from its optics; parts are null where nothing tells them. */
export interface ReadSide {
  side: ComparisonSide;
  stars: SideStars | null;
  removal: NightRemoval | null;
  /** Air and guiding together, FWHM on the sky, arcsec; NaN where not known. */
  nightArcsec: number;
  /** Why there are no stars to compare, where it is none of the usual reasons. */
  why?: string;
}

/** What a region's stars say, as draws. Widths in px. */
export interface RegionDraws {
  width: Drawn | null;
  /** Over the width at the side's own centre. */
  overCentre: Drawn | null;
  own: OwnBlur | null;
}

const nothing: RegionDraws = { width: null, overCentre: null, own: null };

/** The seeds of the two sides lie apart: what one night drew says nothing of the other. */
export const SIDE_SEEDS = { a: 5_107, b: 9_733 } as const;

/** @param focalLengthMm - measured for this side; null: its own scale holds */
export function readSide(side: ComparisonSide, seed: number, focalLengthMm: number | null = null): ReadSide {
  const gathered = gatherStars(side);
  const stars =
    gathered === null ? null : settle({ ...gathered, scale: useFocalLength(gathered.scale, focalLengthMm) });
  const removed = stars === null ? null : removeNight(side, stars, seed);
  // Zones and both kinds of rings are drawn from the same two: their digest is taken once.
  const removal = removed === null ? null : settle(removed);
  const nightArcsec = stars === null || removal === null ? Number.NaN : readNightArcsec(removal, stars);
  return { side, stars, removal, nightArcsec };
}

/** The second side of a test held against itself: there is nothing to be compared, and no zero is claimed as measured. */
export function readSameSide(side: ComparisonSide): ReadSide {
  const why = "Both sides are the same test: there is nothing to compare.";
  return { side, stars: null, removal: null, nightArcsec: Number.NaN, why };
}

/** The night that both sides are put under to be compared without theirs: the mean of the two, arcsec; NaN where one is not known. */
export function chooseCommonNight(a: ReadSide, b: ReadSide): number {
  return (a.nightArcsec + b.nightArcsec) / 2;
}

/** Draws of the optics' own blur: the field model has 400; a ring of a curve is drawn to some 10 % of its interval's length. */
const ownDraws = { zone: 400, ring: 160 } as const;

/**
 * Draws of a region given by the rows of the side's combined stars. A zone also gets its width under the common night, a ring
 * of a curve does not.
 */
export function drawRegion(
  { stars, removal }: SideParts,
  rows: readonly number[],
  kind: keyof typeof ownDraws,
  commonNightArcsec: number,
  seed: number,
): RegionDraws {
  if (stars === null) return nothing;
  const other = removal !== null && kind === "zone" && Number.isFinite(commonNightArcsec);
  const wanted = {
    otherFocusedUm: other ? predictFocusedUm(removal, stars, commonNightArcsec) : null,
    draws: ownDraws[kind],
  };
  return {
    width: drawWidth(stars, rows, seed),
    overCentre: drawContrast(stars, rows, stars.zones.centre, seed + 1),
    own: removal === null ? null : drawOwnBlur(removal, stars, rows, wanted, seed + 2),
  };
}

/** Every zone's draws, under the common night too. */
export function drawZones(
  read: ReadSide,
  commonNightArcsec: number,
  seed: number,
): Record<Zone, RegionDraws> {
  return remember("compare/read-side#zones", drawZonesAnew, takeParts(read), commonNightArcsec, seed);
}

function drawZonesAnew(parts: SideParts, commonNightArcsec: number, seed: number): Record<Zone, RegionDraws> {
  const { stars } = parts;
  return Object.fromEntries(
    ZONES.map((zone, k) => [
      zone,
      stars === null
        ? nothing
        : drawRegion(parts, stars.zones[zone], "zone", commonNightArcsec, seed + 10 * k),
    ]),
  ) as Record<Zone, RegionDraws>;
}

/** Draws of the rings of a curve, each given by its rows of the side's combined stars; a ring's seed is ten past the one before it. */
export function drawRings(read: ReadSide, rings: readonly Int32Array[], seed: number): RegionDraws[] {
  return remember("compare/read-side#rings", drawRingsAnew, takeParts(read), rings, seed);
}

function drawRingsAnew(parts: SideParts, rings: readonly Int32Array[], seed: number): RegionDraws[] {
  return rings.map((rows, ring) => drawRegion(parts, [...rows], "ring", Number.NaN, seed + 10 * ring));
}

type SideParts = Pick<ReadSide, "stars" | "removal">;

/** What draws are made from; the records' words, which change oftener, have no part in them. */
function takeParts({ stars, removal }: ReadSide): SideParts {
  return { stars, removal };
}
