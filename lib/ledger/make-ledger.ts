import type { FoldedField } from "../field/fold-field.ts";
import { makeMeasured, type Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import { adviseLedger } from "./advise-ledger.ts";
import { type BestSpacing, findBestSpacing } from "./best-spacing.ts";
import { type CornerOptics, computeCornerRatio, expectCorners } from "./expect-corners.ts";
import { findStrangers } from "./find-strangers.ts";
import { type Estimate, type NightLine, readLine } from "./fit-nights.ts";
import { type LedgerNight, toEstimate } from "./night.ts";
import { type SettledNights, settleSigns } from "./settle-signs.ts";
import { listSpacerTilts } from "./spacer-tilts.ts";

export type Ledger = NonNullable<TrainResults["ledger"]>;

/** One test as the ledger takes it: its results, and its focal surface up to a sign where one was fitted. */
export interface LedgerEntry {
  test: TestResults;
  folded: FoldedField | null;
}

/** What a test says for the ledger; the sweep's surface, whose sign is known, before that of frames in focus. */
export function makeNight({ test, folded }: LedgerEntry): LedgerNight {
  return {
    test: test.id,
    date: test.date,
    spacingMm: test.spacingError?.value ?? null,
    surface: readSurface(test, folded),
    radial: allowForSeeing(toEstimate(test.zones?.corner.radial)),
    tiltAcross: (test.sweep ?? test.field)?.tiltAcross ?? unknown("um"),
    seeing: test.field?.seeing ?? test.zones?.centre.fwhm.arcsec ?? unknown("arcsec"),
    focusedWidthUm: test.zones?.centre.fwhm.um.value ?? null,
    cornerOverCentre: test.contrasts?.overCentre.corner ?? null,
    spacersMm: test.record.spacersMm,
    cameraAngleDeg: test.record.cameraAngleDeg,
    frames: test.frames.map(({ sha256 }) => sha256),
  };
}

/**
 * The night's seeing dilutes the elongation by a share that differs from night to night, and a focus off the best common
 * one shifts it a little: a fifth of the value and one hundredth, one sigma (chosen). The zero stays where it is.
 */
function allowForSeeing(radial: Estimate | null): Estimate | null {
  if (radial === null) return null;
  return { value: radial.value, sigma: Math.hypot(radial.sigma, 0.2 * radial.value, 0.01) };
}

function unknown(unit: Quantity["unit"]): Quantity {
  return { value: null, unit, why: "No focal surface was found in this test." };
}

function readSurface(test: TestResults, folded: FoldedField | null): LedgerNight["surface"] {
  const from = test.sweep !== null ? ({ ...test.sweep, signKnown: true } as const) : folded;
  if (from === null) return null;
  const [curvature, astigmatism] = [toEstimate(from.curvature), toEstimate(from.astigmatism)];
  const [x, y] = [toEstimate(from.tiltX), toEstimate(from.tiltY)];
  if (curvature === null || astigmatism === null || x === null || y === null) return null;
  return {
    curvature,
    astigmatism,
    tilt: { x, y },
    signKnown: from.signKnown,
    from: test.sweep !== null ? "sweep" : "field",
  };
}

/** Nights that count: each set of frames once, the first time it is named. */
function dropRepeated(nights: readonly LedgerNight[]): { kept: LedgerNight[]; notes: string[] } {
  const seen = new Map<string, string>();
  const notes: string[] = [];
  const kept = nights.filter((night) => {
    const name = [...night.frames].sort().join();
    const before = name === "" ? undefined : seen.get(name);
    if (before !== undefined) {
      notes.push(`${night.test} has the very frames of ${before} and is not counted again.`);
      return false;
    }
    seen.set(name, night.test);
    return true;
  });
  return { kept, notes };
}

/** The nights with their signs, ready for lines; the same for the ledger and for the rule it finds for single nights. */
export function settleLedger(entries: readonly LedgerEntry[]): SettledNights & { notes: string[] } {
  const { kept, notes } = dropRepeated(entries.map(makeNight));
  return { ...settleSigns(kept), notes };
}

/**
 * The ledger of a train: a row a test in order of date, the lines of curvature, astigmatism and radial elongation in the
 * spacing error over all nights, the best spacing and what to do next. Null without a corrector (no distance is asked
 * for) and without any night that has stars.
 *
 * @param entries - all tests of the train in order of date
 * @param state - the train's record with the latest night's stack
 */
export function makeLedger(entries: readonly LedgerEntry[], state: TrainRecord): Ledger | null {
  if (state.corrector === null || entries.every(({ test }) => test.zones === null && test.sweep === null))
    return null;
  const settled = settleLedger(entries);
  const used = settled.nights;
  // Signs that are not told make lines of curvature worthless; the radial elongation has its own sign.
  const forLines = settled.settled ? used : used.map((night) => ({ ...night, surface: keepKnown(night) }));
  const best = findBestSpacing(forLines);
  const optics = describeOptics(state, entries, used);
  const latest = used.findLast(({ spacingMm }) => spacingMm !== null);
  const gain = findGain(best, latest, optics);
  const advice = adviseLedger({
    nights: forLines,
    best,
    signsSettled: settled.settled,
    state,
    gain,
    harmlessCurvature: optics === null ? null : findHarmlessCurvature(optics),
  });
  const sensor = entries[0].test.sensor;
  const tilts = settled.settled ? listSpacerTilts(used, Math.hypot(sensor.widthMm, sensor.heightMm)) : [];
  return {
    rows: entries.map((entry) => makeRow(entry, used)),
    best: advice.best,
    nextMove: advice.nextMove,
    combination: advice.combination,
    sentence: [advice.sentence, ...tilts.map(({ sentence }) => sentence)].join(" "),
    stage: advice.stage,
    stop: advice.stop,
    bracketMm: advice.bracketMm,
    radialMeans: settled.radialMeans,
    lines: {
      curvature: stateLine(best.curvature),
      astigmatism: stateLine(best.astigmatism),
      radial: stateLine(best.radial),
    },
    bestFrom: best.best?.from ?? null,
    expectedCorner: best.best === null ? null : expectCorners(best, best.best.value, optics),
    spacerTilts: tilts.map(({ before, after, change }) => ({ before, after, change })),
    notes: [...settled.notes, ...findStrangers(forLines).map(({ sentence }) => sentence)],
  };
}

function keepKnown(night: LedgerNight): LedgerNight["surface"] {
  return night.surface?.signKnown ? night.surface : null;
}

function stateLine(line: NightLine | null): NonNullable<Ledger["lines"]>["curvature"] {
  if (line === null) return null;
  const { at0, perMm, varianceAt0, variancePerMm, covariance, stretch, reach, nights } = line;
  return { at0, perMm, varianceAt0, variancePerMm, covariance, stretch, reach, nights };
}

function toQuantity(estimate: { value: number; sigma: number }, unit: Quantity["unit"], n: number): Quantity {
  const half = 1.959963984540054 * estimate.sigma;
  return makeMeasured(estimate.value, unit, estimate.value - half, estimate.value + half, n);
}

function makeRow(entry: LedgerEntry, used: readonly LedgerNight[]): Ledger["rows"][number] {
  const { test } = entry;
  const night = used.find((one) => one.test === test.id) ?? makeNight(entry);
  const { surface } = night;
  const none = unknown("um/mm2");
  return {
    test: test.id,
    date: test.date,
    spacingError: test.spacingError ?? unknown("mm"),
    curvature: surface === null ? none : toQuantity(surface.curvature, "um/mm2", 1),
    astigmatism: surface === null ? none : toQuantity(surface.astigmatism, "um/mm2", 1),
    radial: test.zones?.corner.radial ?? unknown("ratio"),
    tiltAcross: night.tiltAcross,
    seeing: night.seeing,
    spacersMm: night.spacersMm,
    from: surface?.from ?? null,
  };
}

function describeOptics(
  state: TrainRecord,
  entries: readonly LedgerEntry[],
  nights: readonly LedgerNight[],
): CornerOptics | null {
  const widths = nights
    .flatMap(({ focusedWidthUm }) => (focusedWidthUm === null ? [] : [focusedWidthUm]))
    .sort((a, b) => a - b);
  const scale = entries.at(-1)?.test.scale;
  if (widths.length === 0 || scale === undefined) return null;
  const { telescope } = state;
  return {
    focalRatio: scale.focalLengthMm / telescope.apertureMm,
    obstruction: telescope.obstructionMm / telescope.apertureMm,
    wavelengthUm: 0.55,
    widthUm: widths[widths.length >> 1],
    sensor: entries[0].test.sensor,
  };
}

/** Fall of the focal surface from centre to corner by the depth of focus, 2 lambda N^2 (Born & Wolf, section 8.8). */
function findHarmlessCurvature({ focalRatio, wavelengthUm, sensor }: CornerOptics): number {
  const halfDiagonal2 = (sensor.widthMm ** 2 + sensor.heightMm ** 2) / 4;
  return (2 * wavelengthUm * focalRatio ** 2) / halfDiagonal2;
}

/** Corner widths now and at the best spacing; one night differs from the next by at least this share (chosen). */
const leastScatter = 0.03;

function findGain(best: BestSpacing, latest: LedgerNight | undefined, optics: CornerOptics | null) {
  const { curvature, astigmatism } = best;
  if (curvature === null || astigmatism === null || best.best === null || optics === null) return null;
  if (latest === undefined || latest.spacingMm === null) return null;
  const at = (s: number) =>
    computeCornerRatio(readLine(curvature, s).value, readLine(astigmatism, s).value, optics);
  const measured = latest.cornerOverCentre;
  const scatter = measured === null || measured.value === null ? 0 : (measured.hi - measured.lo) / 2;
  return {
    now: at(latest.spacingMm),
    atBest: at(best.best.value),
    nightScatter: Math.max(leastScatter, scatter),
  };
}
