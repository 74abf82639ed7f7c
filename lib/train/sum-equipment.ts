import type { StackItem, TrainRecord } from "../records/types.ts";

/** A sum over the parts of a train: null where a part does not state what it adds; `unstated` names these parts. */
export interface PartSum {
  value: number | null;
  /** What the parts that state it come to; 0 where none does. */
  stated: number;
  unstated: string[];
}

interface Addend {
  name: string;
  value: number | undefined;
}

function addUp(addends: readonly Addend[]): PartSum {
  const unstated = addends.filter(({ value }) => value === undefined).map(({ name }) => name);
  const stated = addends.reduce((sum, { value }) => sum + (value ?? 0), 0);
  return { value: unstated.length === 0 ? stated : null, stated, unstated };
}

const isRing = (item: StackItem) => "part" in item;

/**
 * Weight of the optical train in g: telescope, corrector, rings and camera as each states it. Spacers count nothing:
 * they weigh a few grams and have no weight on record. Equipment beside the optics is not in it.
 */
export function sumWeightG(train: TrainRecord): PartSum {
  const { telescope, corrector, stack, camera } = train;
  return addUp([
    { name: telescope.name, value: telescope.weightG },
    ...(corrector === null ? [] : [{ name: corrector.name, value: corrector.weightG }]),
    ...stack.flatMap((item) => (isRing(item) ? [{ name: item.part, value: item.weightG }] : [])),
    { name: camera.name, value: camera.weightG },
  ]);
}

/**
 * Length of the train in mm from the telescope's front to the camera's back. Rings and spacers add their length on record;
 * telescope, corrector and camera what each states as `bodyLengthMm`.
 */
export function sumLengthMm(train: TrainRecord): PartSum {
  const { telescope, corrector, stack, camera } = train;
  const between = stack.reduce(
    (sum, item) => sum + (isRing(item) ? item.lengthMm : item.spacersMm.reduce((all, mm) => all + mm, 0)),
    0,
  );
  return addUp([
    { name: telescope.name, value: telescope.bodyLengthMm },
    ...(corrector === null ? [] : [{ name: corrector.name, value: corrector.bodyLengthMm }]),
    { name: "stack", value: between },
    { name: camera.name, value: camera.bodyLengthMm },
  ]);
}

/** What was paid for the optical train, one sum for each currency, in the order of the parts. */
export function sumPrices(train: TrainRecord): { currency: string; sum: PartSum }[] {
  const { telescope, corrector, stack, camera } = train;
  const parts = [
    { name: telescope.name, price: telescope.pricePaid },
    ...(corrector === null ? [] : [{ name: corrector.name, price: corrector.pricePaid }]),
    ...stack.flatMap((item) => (isRing(item) ? [{ name: item.part, price: item.pricePaid }] : [])),
    { name: camera.name, price: camera.pricePaid },
  ];
  const currencies = [
    ...new Set(parts.flatMap(({ price }) => (price === undefined ? [] : [price.currency]))),
  ];
  return currencies.map((currency) => ({
    currency,
    sum: addUp(
      parts
        .filter(({ price }) => price === undefined || price.currency === currency)
        .map(({ name, price }) => ({ name, value: price?.amount })),
    ),
  }));
}
