import type { Glass, StackItem, StackPart, TestRecord, TrainRecord } from "../records/types.ts";
import { computePlateShift } from "./glass-plate.ts";

/** One part between the corrector's shoulder (or the tube's end) and the sensor. */
export interface StackLine {
  part: string;
  lengthMm: number;
  /** How much this part's glass moves the focus away, mm; 0 without glass. */
  plateShiftMm: number;
  /** Distance from the sensor of the part's end farther from it, mm. */
  fromSensorMm: number;
  clearDiameterMm: number | null;
}

/** "spacers 1 + 0.3 mm" */
export function nameSpacers(spacersMm: readonly number[]): string {
  if (spacersMm.length === 0) return "no spacer";
  return `${spacersMm.length === 1 ? "spacer" : "spacers"} ${spacersMm.join(" + ")} mm`;
}

/** The stack part by part, from the corrector to the camera, whose flange distance is the last line. */
export function listStackLines(train: TrainRecord): StackLine[] {
  const parts = train.stack.map((item) => ({
    part: isPart(item) ? item.part : nameSpacers(item.spacersMm),
    lengthMm: measureItem(item),
    glass: isPart(item) ? item.glass : undefined,
    clearDiameterMm: item.clearDiameterMm ?? null,
  }));
  const { camera } = train;
  parts.push({
    part: `${camera.name}, flange to sensor`,
    lengthMm: camera.flangeMm,
    glass: camera.windowGlass,
    clearDiameterMm: null,
  });
  let behind = 0;
  const lines = parts.reverse().map(({ part, lengthMm, glass, clearDiameterMm }) => {
    behind = roundLength(behind + lengthMm);
    const plateShiftMm = glass === undefined ? 0 : computePlateShift(glass.thicknessMm, glass.index);
    return { part, lengthMm, plateShiftMm, fromSensorMm: behind, clearDiameterMm };
  });
  return lines.reverse();
}

export function isPart(item: StackItem): item is StackPart {
  return "part" in item;
}

function measureItem(item: StackItem): number {
  return isPart(item) ? item.lengthMm : roundLength(item.spacersMm.reduce((sum, spacer) => sum + spacer, 0));
}

/** Nobody measures a ring to a nanometre: takes the dust of binary fractions off sums. */
export function roundLength(lengthMm: number): number {
  return Math.round(lengthMm * 1e6) / 1e6;
}

/** Every plate of glass between corrector and sensor that is not of zero thickness, window included. */
export function listGlass(train: TrainRecord): Glass[] {
  const plates = train.stack.flatMap((item) =>
    isPart(item) && item.glass !== undefined ? [item.glass] : [],
  );
  return [...plates, train.camera.windowGlass].filter((glass) => glass.thicknessMm > 0);
}

/** All spacers in the stack, mm. */
export function listSpacers(train: TrainRecord): number[] {
  return train.stack.flatMap((item) => (isPart(item) ? [] : item.spacersMm));
}

/**
 * The train as it was on a night: the test's spacers in place of those on record (all of them in the first place for
 * spacers), and its filter's glass in place of every glass in the stack. A filter whose glass is not stated leaves the
 * stack's glass as it is; 0 mm says that there was none. Without a place for spacers in the stack they go before the camera.
 */
export function applyTest(train: TrainRecord, test: TestRecord): TrainRecord {
  let stack = train.stack;
  if (test.spacersMm !== null) stack = replaceSpacers(stack, test.spacersMm);
  if (test.filter?.glass !== undefined) stack = replaceGlass(stack, test.filter.glass, test.filter.name);
  return { ...train, stack };
}

function replaceSpacers(stack: readonly StackItem[], spacersMm: number[]): StackItem[] {
  if (!stack.some((item) => !isPart(item)))
    return spacersMm.length === 0 ? [...stack] : [...stack, { spacersMm }];
  let placed = false;
  return stack.map((item) => {
    if (isPart(item)) return item;
    const list = placed ? [] : spacersMm;
    placed = true;
    return { ...item, spacersMm: list };
  });
}

function replaceGlass(stack: readonly StackItem[], glass: Glass, filterName: string): StackItem[] {
  const holder = stack.findIndex((item) => isPart(item) && item.glass !== undefined);
  if (holder < 0) return [...stack, { part: `filter ${filterName}`, lengthMm: 0, glass }];
  return stack.map((item, index) => {
    if (!isPart(item)) return item;
    const { glass: _replaced, ...bare } = item;
    return index === holder ? { ...bare, glass } : bare;
  });
}
