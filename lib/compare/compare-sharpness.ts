import { ZONES } from "../field/geometry.ts";
import { makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import type { Comparison, Length, Zone } from "../report/results.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";

const notCompared = "The two tests' widths have not been compared yet.";

function readWidth(side: ComparisonSide, zone: Zone): Length {
  const known = side.results?.zones?.[zone].fwhm;
  if (known !== undefined) return known;
  const unknown = (unit: Unit): Quantity => makeUnknown(unit, "No star of this side was measured.");
  return { px: unknown("px"), um: unknown("um"), arcsec: unknown("arcsec") };
}

/** Widths of both sides zone by zone, with their differences, b minus a, and the optics' own share. */
export function compareZones({ a, b }: ComparisonRequest): Comparison["zones"] {
  const unknown = (unit: Unit): Quantity => makeUnknown(unit, notCompared);
  return Object.fromEntries(
    ZONES.map((zone) => [
      zone,
      {
        a: readWidth(a, zone),
        b: readWidth(b, zone),
        difference: { px: unknown("px"), um: unknown("um"), arcsec: unknown("arcsec") },
        optics: { a: unknown("um"), b: unknown("um"), difference: unknown("um") },
      },
    ]),
  ) as Comparison["zones"];
}
