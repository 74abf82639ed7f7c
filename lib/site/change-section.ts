import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import type { TestResults } from "../report/results.ts";
import { formatDate, formatPlain } from "./format-number.ts";
import {
  listQuantityCells,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageCell,
  type PageTable,
} from "./page-table.ts";

/** What is different against the test before, and the ways to the tests beside this one. */
export interface PageChange {
  /** What was changed at the train, in one sentence. */
  sentence: string;
  /** What the stars did; null where the two tests share no number. */
  table: PageTable | null;
}

/** A way to another test of the train. */
export interface TestStep {
  href: string;
  text: string;
}

const listSpacers = (spacers: readonly number[]) =>
  spacers.length === 0 ? "no spacer" : spacers.map((mm) => `${formatPlain(mm)}\u00a0mm`).join(" + ");

const sum = (spacers: readonly number[]) => spacers.reduce((all, mm) => all + mm, 0);

function sayRecordChanges(before: TestResults, now: TestResults): string[] {
  const changes: string[] = [];
  const [old, fresh] = [before.record, now.record];
  if (old.spacersMm !== null && fresh.spacersMm !== null) {
    const [from, to] = [listSpacers(old.spacersMm), listSpacers(fresh.spacersMm)];
    const by = sum(fresh.spacersMm) - sum(old.spacersMm);
    if (from !== to) {
      const size =
        Math.abs(by) < 0.0005
          ? "as long as before"
          : `${formatPlain(Math.abs(by))}\u00a0mm ${by > 0 ? "more" : "less"}`;
      changes.push(`the spacers, ${size} (${from} before, ${to} now)`);
    }
  }
  if (old.filter !== null && fresh.filter !== null && old.filter !== fresh.filter)
    changes.push(`the filter, ${fresh.filter} for ${old.filter}`);
  if (old.cameraAngleDeg !== null && fresh.cameraAngleDeg !== null) {
    const turn = ((((fresh.cameraAngleDeg - old.cameraAngleDeg) % 360) + 540) % 360) - 180;
    if (Math.abs(turn) > 0.05) changes.push(`the camera, turned by ${formatPlain(Math.abs(turn))}°`);
  }
  if (old.altitudeDeg !== null && fresh.altitudeDeg !== null) {
    const rise = fresh.altitudeDeg - old.altitudeDeg;
    // Chosen: below ten degrees the altitude of a field drifts within one evening anyway.
    if (Math.abs(rise) >= 10)
      changes.push(`the altitude, ${formatPlain(Math.abs(rise))}° ${rise > 0 ? "higher" : "lower"}`);
  }
  return changes;
}

function isKnown(quantity: Quantity | null | undefined): quantity is KnownQuantity {
  return quantity !== null && quantity !== undefined && quantity.value !== null;
}

/**
 * "larger", "smaller", or no clear change: none beyond what both intervals leave open: half-widths added in quadrature, as for two
 * independent nights.
 */
export function compareNights(before: KnownQuantity, now: KnownQuantity): string {
  const difference = now.value - before.value;
  const reach = Math.hypot((before.hi - before.lo) / 2, (now.hi - now.lo) / 2);
  if (reach === 0) return difference === 0 ? "the same" : difference > 0 ? "larger" : "smaller";
  if (Math.abs(difference) <= reach) return "no clear change";
  return difference > 0 ? "larger" : "smaller";
}

/** Of a number that may be negative "larger" says two things; how it stands to zero says one. */
function compareSigned(before: KnownQuantity, now: KnownQuantity): string {
  const word = compareNights(before, now);
  if (word !== "larger" && word !== "smaller") return word;
  const isSure = ({ lo, hi }: KnownQuantity) => lo * hi > 0;
  if (before.value * now.value < 0 && isSure(before) && isSure(now)) return "of the other sign";
  return Math.abs(now.value) < Math.abs(before.value) ? "nearer zero" : "farther from zero";
}

const measures: {
  label: string;
  key: string;
  sign: boolean;
  read: (test: TestResults) => Quantity | null | undefined;
}[] = [
  { label: "Spacing error", key: "spacing_error", sign: true, read: (test) => test.spacingError },
  {
    label: "Corner width over centre width",
    key: "corner_over_centre",
    sign: false,
    read: (test) => test.contrasts?.overCentre.corner,
  },
  { label: "FWHM, centre", key: "fwhm_centre", sign: false, read: (test) => test.zones?.centre.fwhm.arcsec },
  {
    label: "Ellipticity, corners",
    key: "ellipticity_corner",
    sign: false,
    read: (test) => test.zones?.corner.ellipticity,
  },
  {
    label: "Radial elongation, corners",
    key: "radial_corner",
    sign: true,
    read: (test) => test.zones?.corner.radial,
  },
  {
    label: "Tilt across the diagonal, its size",
    key: "tilt_across",
    sign: false,
    read: (test) => (test.sweep ?? test.field)?.tiltAcross,
  },
  { label: "Seeing", key: "seeing", sign: false, read: (test) => test.field?.seeing },
];

/** What changed from the test before to this one, at the train and in the stars. */
export function makeChangeSection(before: TestResults, now: TestResults): PageChange {
  const changes = sayRecordChanges(before, now);
  const since = `since the test of ${formatDate(before.date)}`;
  const sentence =
    changes.length === 0
      ? `Nothing was changed on record ${since}.`
      : `Changed ${since}: ${changes.join("; ")}.`;
  const pairs = measures.flatMap((measure) => {
    const [old, fresh] = [measure.read(before), measure.read(now)];
    return isKnown(old) && isKnown(fresh) && old.unit === fresh.unit ? [{ ...measure, old, fresh }] : [];
  });
  if (pairs.length === 0) return { sentence, table: null };
  const compare = (sign: boolean, old: KnownQuantity, fresh: KnownQuantity) =>
    sign ? compareSigned(old, fresh) : compareNights(old, fresh);
  const table: PageTable = {
    id: `tbl-change-${now.id}`,
    number: 0,
    remarks: [],
    caption: `From ${formatDate(before.date)} to ${formatDate(now.date)}: what the stars showed before and now`,
    note: "Where a change is told, the two values differ by more than their 95 % intervals together leave open; no clear change: they do not.",
    columns: [
      makeColumn("Measure"),
      makeColumn("Before", true),
      makeColumn("Now", true),
      makeColumn("Now it is"),
    ],
    rows: pairs.map(({ label, sign, old, fresh }): PageCell[] => [
      makeTextCell(label),
      makeQuantityCell(old, { sign }),
      makeQuantityCell(fresh, { sign }),
      makeTextCell(compare(sign, old, fresh)),
    ]),
    csv: {
      columns: [
        { key: "measure", heading: "Measure" },
        { key: "unit", heading: "Unit" },
        ...["before", "now"].flatMap((when) =>
          ["", "_lo", "_hi", "_n"].map((part) => ({ key: `${when}${part}`, heading: `${when}${part}` })),
        ),
        { key: "verdict", heading: "Now it is" },
      ],
      rows: pairs.map(({ key, sign, old, fresh }) => [
        key,
        old.unit,
        ...listQuantityCells(old),
        ...listQuantityCells(fresh),
        compare(sign, old, fresh),
      ]),
    },
  };
  return { sentence, table };
}

/** The ways from a test to the one before and the one after it in time; `inTime` has the oldest first. */
export function listSteps(
  inTime: readonly TestResults[],
  at: number,
): { earlier: TestStep | null; later: TestStep | null } {
  const step = (test: TestResults | undefined): TestStep | null =>
    test === undefined ? null : { href: `#test-${test.id}`, text: formatDate(test.date) };
  return { earlier: step(inTime[at - 1]), later: step(inTime[at + 1]) };
}
