import { ZONES } from "../field/geometry.ts";
import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { ComparedZone, Comparison, Length, Zone } from "../report/results.ts";
import { multiplyQuantities } from "./quantity-sums.ts";
import type { ReadSide, RegionDraws } from "./read-side.ts";
import { stateDrawn, subtractDrawn } from "./state-draws.ts";

/** um and arcsec of one pixel of a side. */
interface SideFactors {
  px: number;
  um: number;
  arcsec: number;
}

function readFactors({ stars }: ReadSide): SideFactors {
  return {
    px: 1,
    um: stars?.scale.umPerPx ?? Number.NaN,
    arcsec: stars?.scale.arcsecPerPx ?? Number.NaN,
  };
}

/** Why a region's width is not known, named by its side. */
function sayWhy(read: ReadSide, name: "a" | "b"): string {
  if (read.why !== undefined) return read.why;
  if (read.side.test === null) return `Side ${name.toUpperCase()} has no test yet.`;
  return read.stars === null
    ? `No star of side ${name.toUpperCase()} was measured.`
    : `Side ${name.toUpperCase()} has fewer than six measurable stars here.`;
}

function stateLength(drawn: RegionDraws["width"], factors: SideFactors, why: string): Length {
  return {
    px: stateDrawn(drawn, factors.px, "px", why),
    um: stateDrawn(drawn, factors.um, "um", why),
    arcsec: stateDrawn(drawn, factors.arcsec, "arcsec", why),
  };
}

const opticsSource =
  "the zone's width over the centre's, put on the field model's star in focus; width of the Gaussian of equal spread (see the methods page)";

function withBasis(quantity: Quantity, read: ReadSide): Quantity {
  if (quantity.value === null || read.removal === null) return quantity;
  return { ...quantity, source: opticsSource, assumes: `The night is told by ${read.removal.basis}.` };
}

/** One region of both sides: as measured, over the own centre, and with the night taken out. */
export function compareRegion(
  a: ReadSide,
  b: ReadSide,
  drawsA: RegionDraws,
  drawsB: RegionDraws,
): ComparedZone {
  const [whyA, whyB] = [sayWhy(a, "a"), sayWhy(b, "b")];
  const [factorsA, factorsB] = [readFactors(a), readFactors(b)];
  const missing = drawsA.width === null ? whyA : whyB;
  const subtract = (unit: "px" | "um" | "arcsec") =>
    subtractDrawn(drawsA.width, drawsB.width, { a: factorsA[unit], b: factorsB[unit] }, unit, missing);
  const plain = { a: 1, b: 1 };
  const own = { a: drawsA.own?.blur ?? null, b: drawsB.own?.blur ?? null };
  const night = { a: drawsA.own?.underOtherNight ?? null, b: drawsB.own?.underOtherNight ?? null };
  const toSky = (factors: SideFactors) => factors.arcsec / factors.um;
  return {
    a: stateLength(drawsA.width, factorsA, whyA),
    b: stateLength(drawsB.width, factorsB, whyB),
    difference: { px: subtract("px"), um: subtract("um"), arcsec: subtract("arcsec") },
    optics: {
      a: withBasis(stateDrawn(own.a, 1, "um", whyA), a),
      b: withBasis(stateDrawn(own.b, 1, "um", whyB), b),
      difference: subtractDrawn(own.a, own.b, plain, "um", missing),
    },
    overCentre: {
      a: stateDrawn(drawsA.overCentre, 1, "ratio", whyA),
      b: stateDrawn(drawsB.overCentre, 1, "ratio", whyB),
      difference: subtractDrawn(drawsA.overCentre, drawsB.overCentre, plain, "ratio", missing),
    },
    underOneNight: {
      a: stateDrawn(night.a, toSky(factorsA), "arcsec", whyA),
      b: stateDrawn(night.b, toSky(factorsB), "arcsec", whyB),
      difference: subtractDrawn(
        night.a,
        night.b,
        { a: toSky(factorsA), b: toSky(factorsB) },
        "arcsec",
        missing,
      ),
    },
  };
}

/** The width as the side's own page has it, its arcseconds by the scale that this comparison goes by. */
function readOwnWidth({ side, stars }: ReadSide, zone: Zone): Length | undefined {
  const own = side.results?.zones?.[zone].fwhm;
  const ownScale = side.results?.scale.arcsecPerPx;
  if (own === undefined || stars === null || ownScale === undefined) return own;
  const factor = stars.scale.arcsecPerPx / ownScale;
  return factor === 1
    ? own
    : { ...own, arcsec: multiplyQuantities(own.arcsec, makeExact(factor, "ratio"), "arcsec") };
}

/**
 * Widths of both sides zone by zone with their differences, b minus a. The widths of each side are those of its own
 * page; the differences carry the scatter of stars and frames of both sides and what each side's learned profile may put
 * on its widths, drawn independently: the two frames taught two profiles.
 */
export function compareZones(
  a: ReadSide,
  b: ReadSide,
  drawsA: Record<Zone, RegionDraws>,
  drawsB: Record<Zone, RegionDraws>,
): Comparison["zones"] {
  return Object.fromEntries(
    ZONES.map((zone) => {
      const compared = compareRegion(a, b, drawsA[zone], drawsB[zone]);
      return [
        zone,
        {
          ...compared,
          a: readOwnWidth(a, zone) ?? compared.a,
          b: readOwnWidth(b, zone) ?? compared.b,
        },
      ];
    }),
  ) as Comparison["zones"];
}
