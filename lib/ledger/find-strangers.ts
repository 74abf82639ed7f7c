import { computeStudentQuantile } from "../maths/distributions.ts";
import { type Estimate, fitNights, readLine } from "./fit-nights.ts";
import type { LedgerNight } from "./night.ts";

/** Fewest nights of which one can be told from the rest: a line through three others has a scatter of its own. */
const fewestNights = 4;
/** A night is called a stranger where chance would put it so far off once in so many ledgers. */
const oncePerLedgers = 200;

/** A night that does not follow the others. */
export interface Stranger {
  test: string;
  /** Curvature found, and what the line of the other nights makes of its spacing, um/mm2. */
  found: number;
  expected: number;
  sentence: string;
}

/**
 * Nights whose curvature does not lie on the line of the others: taken with another camera or another stack than the
 * record says, most often. Each night is held against the line through the rest (externally studentised residual, Cook &
 * Weisberg 1982, Residuals and Influence in Regression, 2.2), and only the furthest is named, for it bends the line under
 * the others. Student's limit is shared out over the nights (Bonferroni). It stays in the ledger: leaving it out is for
 * the one who knows what stood on the table.
 */
export function findStrangers(nights: readonly LedgerNight[]): Stranger[] {
  const usable = nights.flatMap(({ test, spacingMm, surface }) =>
    spacingMm === null || surface === null ? [] : [{ test, spacingMm, curvature: surface.curvature }],
  );
  if (usable.length < fewestNights) return [];
  const limit = computeStudentQuantile(1 - 0.5 / oncePerLedgers / usable.length, usable.length + 3);
  const judged = usable.flatMap((night) => {
    const others = usable.filter((other) => other !== night);
    const line = fitNights(
      others.map(({ spacingMm }) => spacingMm),
      others.map(({ curvature }) => curvature),
    );
    if (line === null) return [];
    const expected = readLine(line, night.spacingMm);
    return [{ night, expected, size: measureDistance(night.curvature, expected, line.stretch) }];
  });
  const furthest = judged.reduce<(typeof judged)[number] | null>(
    (most, next) => (most === null || next.size > most.size ? next : most),
    null,
  );
  if (furthest === null || furthest.size < limit) return [];
  const { night, expected } = furthest;
  const [found, asked] = [night.curvature.value, expected.value];
  return [
    {
      test: night.test,
      found,
      expected: asked,
      sentence: `${night.test} does not follow the other nights: its field curves by ${found.toFixed(3)} um/mm2 where their line makes it ${asked.toFixed(3)}. See whether another camera, corrector or stack was on the telescope than the record says; it is still counted.`,
    },
  ];
}

function measureDistance(found: Estimate, expected: Estimate, stretch: number): number {
  return Math.abs(found.value - expected.value) / Math.hypot(stretch * found.sigma, expected.sigma);
}
