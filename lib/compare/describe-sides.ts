import { formatDate } from "../maths/format-date.ts";
import type { ComparedSide, Comparison } from "../report/results.ts";
import { listSpacers } from "../train/stack.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";

function readSpacers({ train, test }: ComparisonSide): number[] {
  return test?.record.spacersMm ?? listSpacers(train.record);
}

function saySpacers(spacersMm: readonly number[]): string {
  const sum = spacersMm.reduce((total, mm) => total + mm, 0);
  return spacersMm.length === 0 ? "no spacers" : `${Number(sum.toFixed(3))} mm of spacers`;
}

/** Two trains are told apart by their names, two states of one train by date and spacers. */
function labelSide(side: ComparisonSide, other: ComparisonSide): string {
  const { train, test } = side;
  const date = test === null ? "no test yet" : formatDate(test.record.date);
  if (train.id !== other.train.id) return `${train.record.name}, ${date}`;
  const named = test !== null && test.id !== test.record.date ? `${test.id}, ${date}` : date;
  return `${named}, ${saySpacers(readSpacers(side))}`;
}

type Scale = ComparedSide["scale"];

function describeSide(side: ComparisonSide, other: ComparisonSide, used: Scale | undefined): ComparedSide {
  const { train, test, results } = side;
  const { widthPx, heightPx, pixelPitchUm } = train.record.camera;
  return {
    trainName: train.record.name,
    label: labelSide(side, other),
    date: test?.record.date ?? null,
    spacersMm: readSpacers(side),
    spacingError: results?.spacingError ?? null,
    scale: side.tables.length > 0 ? (used ?? results?.scale ?? null) : null,
    ownScale: side.tables.length > 0 ? (results?.scale ?? null) : null,
    channel: side.tables.length > 0 ? (results?.channel ?? null) : null,
    sensor: { widthMm: (widthPx * pixelPitchUm) / 1000, heightMm: (heightPx * pixelPitchUm) / 1000 },
    cutouts: results?.spokes?.crops ?? [],
  };
}

/** @param scales - by which each side's arcseconds go; left out: its own */
export function describeSides(
  { a, b }: ComparisonRequest,
  scales: { a?: Scale | undefined; b?: Scale | undefined },
): Comparison["sides"] {
  return { a: describeSide(a, b, scales.a), b: describeSide(b, a, scales.b) };
}

/** The sides' names, which stand apart from all that is counted and measured. */
export function nameSides(sides: Comparison["sides"], { a, b }: ComparisonRequest): Comparison["sides"] {
  return {
    a: { ...sides.a, trainName: a.train.record.name, label: labelSide(a, b) },
    b: { ...sides.b, trainName: b.train.record.name, label: labelSide(b, a) },
  };
}
