/** What a comparison's results.json holds, and one entry of `comparisons` of a train's. */
import type { Length, Quantity } from "../maths/quantity.ts";
import type { Zone } from "./zone-names.ts";

export type Verdict = "aSharper" | "bSharper" | "noDifference" | "cannotTell";

export interface Comparison {
  format?: "rig-report-comparison/1";
  id: string;
  name: string;
  /** `test` is empty where the train has no test yet: its records alone are then compared. */
  a: { train: string; test: string };
  b: { train: string; test: string };
  ratio: Quantity; // focal length of b over that of a, from common stars
  nominalRatio: Quantity;
  rotation: Quantity; // deg
  zones: Record<
    Zone,
    {
      a: Length;
      b: Length;
      difference: Length; // b minus a, FWHM as measured
      optics: { a: Quantity; b: Quantity; difference: Quantity };
    }
  >; // um, the night's blur taken out
  matched: null | {
    coarser: "a" | "b";
    zones: Record<Zone, { a: Quantity; b: Quantity; difference: Quantity }>;
  }; // px of the coarser grid
  /** Why `matched` is null, in one sentence; absent where it is not. */
  matchedWhy?: string;
  verdict: {
    // on the corners
    px: { class: Verdict; sentence: string };
    um: { class: Verdict; sentence: string }; // the optics' own blur on the sensor
    arcsec: { class: Verdict; sentence: string }; // as seen on the sky
    matched: { class: Verdict; sentence: string };
    overall: string;
  };
}
