import { fitNights } from "./fit-nights.ts";
import { type LedgerNight, negate } from "./night.ts";

export interface SettledNights {
  /** The nights with the signs that the ledger gives them. */
  nights: LedgerNight[];
  /** Whether all signs are told, and what long axes along the radius then mean for this corrector. */
  settled: boolean;
  radialMeans: "tooClose" | "tooFar" | null;
}

/** More nights than this are turned one by one instead of in all combinations. */
const mostCombined = 12;
/** Astigmatism changes with spacing by about a quarter of what curvature does, as a one-sigma guess (chosen). */
const astigmatismShare = 0.25;

function turnNight(night: LedgerNight, turn: boolean): LedgerNight {
  const { surface } = night;
  if (!turn || surface === null) return night;
  return {
    ...night,
    surface: {
      ...surface,
      curvature: negate(surface.curvature),
      astigmatism: negate(surface.astigmatism),
      tilt: { x: negate(surface.tilt.x), y: negate(surface.tilt.y) },
    },
  };
}

interface Judged {
  cost: number;
  slope: number;
  slopeError: number;
}

/** How badly the nights, turned as they are, lie on two straight lines. */
function judge(nights: readonly LedgerNight[]): Judged | null {
  const known = nights.flatMap(({ spacingMm, surface }) =>
    spacingMm === null || surface === null ? [] : [{ spacingMm, surface }],
  );
  const spacing = known.map(({ spacingMm }) => spacingMm);
  const curvature = known.map(({ surface }) => surface.curvature);
  const astigmatism = known.map(({ surface }) => surface.astigmatism);
  const [lineC, lineA] = [fitNights(spacing, curvature), fitNights(spacing, astigmatism)];
  if (lineC === null || lineA === null) return null;
  let cost = (lineA.perMm / (astigmatismShare * (Math.abs(lineC.perMm) + 1e-6))) ** 2;
  known.forEach(({ spacingMm }, k) => {
    cost += ((curvature[k].value - lineC.at0 - lineC.perMm * spacingMm) / curvature[k].sigma) ** 2;
    cost += ((astigmatism[k].value - lineA.at0 - lineA.perMm * spacingMm) / astigmatism[k].sigma) ** 2;
  });
  return { cost, slope: lineC.perMm, slopeError: Math.sqrt(lineC.variancePerMm) * lineC.reach };
}

/**
 * Frames in focus leave the sign of a night's heights open. Over several spacings the nights must lie on straight lines,
 * which says how they are to be turned against each other; and all together are turned so that the curvature grows as
 * the sensor moves away: then the corners' focus lies in front of the sensor where it is too far and behind it where it
 * is too close, as with every corrector that flattens the field at one distance. Nights whose sign is known (a sweep, or
 * frames at known focus offsets) are never turned and rule the others.
 */
export function settleSigns(nights: readonly LedgerNight[]): SettledNights {
  const open = nights.flatMap(({ surface, spacingMm }, k) =>
    surface !== null && !surface.signKnown && spacingMm !== null ? [k] : [],
  );
  const anchored = nights.some(({ surface }) => surface?.signKnown === true);
  const turned = open.length <= mostCombined ? tryAll(nights, open) : tryOneByOne(nights, open);
  const judged = judge(turned);
  const unsettled = { nights: [...nights], settled: false, radialMeans: null };
  if (judged === null) {
    // One spacing only: a night whose sign is known by itself still tells what the corrector's long axes mean.
    const known = nights.filter(({ surface }) => surface?.signKnown === true);
    return { ...unsettled, radialMeans: readRule(known) };
  }
  const told = Math.abs(judged.slope) > judged.slopeError;
  if (!told && !anchored) return unsettled;
  const whole = !anchored && judged.slope < 0 ? turned.map((night) => turnNight(night, true)) : turned;
  return { nights: whole, settled: true, radialMeans: readRule(whole) };
}

function tryAll(nights: readonly LedgerNight[], open: readonly number[]): LedgerNight[] {
  let best: { cost: number; nights: LedgerNight[] } | null = null;
  for (let choice = 0; choice < 2 ** open.length; choice++) {
    const turned = nights.map((night, k) => {
      const place = open.indexOf(k);
      return turnNight(night, place >= 0 && ((choice >> place) & 1) === 1);
    });
    const judged = judge(turned);
    if (judged === null) return [...nights];
    if (best === null || judged.cost < best.cost - 1e-9) best = { cost: judged.cost, nights: turned };
  }
  return best?.nights ?? [...nights];
}

function tryOneByOne(nights: readonly LedgerNight[], open: readonly number[]): LedgerNight[] {
  let current = [...nights];
  let cost = judge(current)?.cost ?? Number.POSITIVE_INFINITY;
  for (let improved = true; improved; ) {
    improved = false;
    for (const k of open) {
      const tried = current.map((night, at) => turnNight(night, at === k));
      const next = judge(tried)?.cost ?? Number.POSITIVE_INFINITY;
      if (next >= cost - 1e-9) continue;
      [current, cost, improved] = [tried, next, true];
    }
  }
  return current;
}

/** Long axes lie along the radius where mean height and astigmatism have one sign. */
function readRule(nights: readonly LedgerNight[]): SettledNights["radialMeans"] {
  let [sum, variance] = [0, 0];
  for (const { surface } of nights) {
    if (surface === null) continue;
    const weight = 1 / surface.astigmatism.sigma ** 2;
    sum += weight * surface.astigmatism.value;
    variance += weight;
  }
  if (variance === 0 || Math.abs(sum) < 1.96 * Math.sqrt(variance)) return null;
  return sum < 0 ? "tooClose" : "tooFar";
}
