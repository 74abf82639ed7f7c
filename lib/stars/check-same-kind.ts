import type { Fault } from "../fault.ts";
import type { FrameMeasurement } from "./frame-measurement.ts";

/** Exposures that differ by more than this are not one series: a shutter's own error is far below. */
const exposureAllowed = 0.1;

interface Trait {
  code: string;
  what: string;
  read: (frame: FrameMeasurement) => string | number | null;
  same: (a: string | number, b: string | number) => boolean;
  show: (value: string | number) => string;
}

const TRAITS: readonly Trait[] = [
  {
    code: "stars/mixed-sizes",
    what: "size",
    read: (frame) => `${frame.widthPx} x ${frame.heightPx} px`,
    same: (a, b) => a === b,
    show: String,
  },
  {
    code: "stars/mixed-filters",
    what: "filter",
    read: (frame) => frame.header.filter?.trim().toLowerCase() || null,
    same: (a, b) => a === b,
    show: (value) => JSON.stringify(value),
  },
  {
    code: "stars/mixed-exposures",
    what: "exposure",
    read: (frame) => frame.header.exposureS,
    same: (a, b) => Math.abs(Number(a) - Number(b)) <= exposureAllowed * Math.max(Number(a), Number(b)),
    show: (value) => `${value} s`,
  },
];

/**
 * Faults of a test whose frames are not of one series: each frame whose size, filter or exposure differs from that of
 * most is named. A header that is silent differs from nothing.
 */
export function findMixedFrames(frames: readonly FrameMeasurement[]): Fault[] {
  return TRAITS.flatMap((trait) => {
    const values = frames.map((frame) => trait.read(frame));
    const known = values.filter((value) => value !== null);
    const usual = known
      .map((value) => ({ value, count: known.filter((other) => trait.same(value, other)).length }))
      .reduce<{ value: string | number; count: number } | null>(
        (best, next) => (best === null || next.count > best.count ? next : best),
        null,
      );
    if (usual === null) return [];
    return frames.flatMap((frame, index): Fault[] => {
      const value = values[index];
      if (value === null || trait.same(value, usual.value)) return [];
      return [
        {
          code: trait.code,
          file: frame.file,
          found: `${trait.what} ${trait.show(value)}, while ${usual.count} of the test's ${frames.length} frames have ${trait.show(usual.value)}`,
          allowed: "frames of one size, one filter and one exposure (within 10 %)",
          fix: "take the frame out of this test; put frames of another kind into a test of their own",
        },
      ];
    });
  });
}

/** Faults of frames that show another field than most of the test's. */
export function findOtherFields(files: readonly string[], unmatched: readonly number[]): Fault[] {
  return unmatched.map((index) => ({
    code: "stars/other-field",
    file: files[index],
    found: "stars that do not fall on those of the test's other frames, under any shift or turn",
    allowed: "frames of one pointing, shifted (dithered) or turned against each other at most",
    fix: "take the frame out of this test; put another pointing into a test of its own",
  }));
}
