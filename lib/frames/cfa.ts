import type { CfaPattern } from "../records/types.ts";
import { warnOfMosaic } from "./find-mosaic.ts";
import { EVERY_SITE, type Plane, type SitePattern } from "./frame.ts";

/** A colour-filter pattern as displayed from the upper left. */
export type BayerPattern = Exclude<CfaPattern, "none">;

const patterns: readonly BayerPattern[] = ["RGGB", "BGGR", "GRBG", "GBRG"];

/** The pattern that a text names; null where it is none of the four. */
export function findPattern(text: string): BayerPattern | null {
  return patterns.find((pattern) => pattern === text.trim().toUpperCase()) ?? null;
}

/**
 * A header's pattern, which counts from the first stored row and column, as displayed from the upper left.
 *
 * The pattern's letters are those of the first two stored rows once its offset is added: the site at stored column x
 * and row y is letter ((x + offsetX) mod 2, (y + offsetY) mod 2). Rows stored from the bottom are displayed turned
 * over, so an even height exchanges the pattern's rows and an odd height keeps them.
 * @source BAYERPAT, XBAYROFF and YBAYROFF: common practice, no source (not in FITS 4.0)
 */
export function convertHeaderPattern(
  pattern: BayerPattern,
  offsetX: number,
  offsetY: number,
  heightPx: number,
  rowsFromBottom: boolean,
): BayerPattern {
  const letters = [0, 1].flatMap((row) =>
    [0, 1].map((column) => {
      const storedRow = rowsFromBottom ? heightPx - 1 - row : row;
      return pattern[(Math.abs(column + offsetX) % 2) + 2 * (Math.abs(storedRow + offsetY) % 2)];
    }),
  );
  const converted = findPattern(letters.join(""));
  if (converted === null) throw new Error(`no pattern of ${letters.join("")}`);
  return converted;
}

/** Sites of one letter in a pattern. */
function findSites(pattern: BayerPattern, letter: string): SitePattern {
  return [pattern[0] === letter, pattern[1] === letter, pattern[2] === letter, pattern[3] === letter];
}

/** The planes of a frame with one array of samples: R, G and B on their own sites, or L where there is no pattern. */
export function makeSitePlanes(samples: Uint16Array | Float32Array, pattern: CfaPattern): Plane[] {
  if (pattern === "none") return [{ channel: "L", samples, sites: EVERY_SITE }];
  return ["R", "G", "B"].map((channel) => ({ channel, samples, sites: findSites(pattern, channel) }));
}

/** What applies and what to say of it: the record's pattern wins over the header's. */
export function choosePattern(
  record: CfaPattern | undefined,
  header: BayerPattern | null,
): { pattern: CfaPattern; warning: string | null } {
  if (record === undefined) return { pattern: header ?? "none", warning: null };
  if (header === null || header === record) return { pattern: record, warning: null };
  const said = record === "none" ? "no colour-filter pattern" : `the colour-filter pattern ${record}`;
  return {
    pattern: record,
    warning: `The record says ${said}, the file's header ${header} (both as displayed from the upper left); the record's was used. If red and blue look exchanged, or green stars look doubled, the header is right.`,
  };
}

/**
 * The planes of a picture of one or three planes of samples, and what to say of them: samples that look like a mosaic without
 * a pattern to take it apart are measured as one channel with a warning.
 * Three planes of one camera are as a rule interpolated from a colour-filter pattern, which widens stars.
 */
export function makePlanes(
  samples: readonly (Uint16Array | Float32Array)[],
  record: CfaPattern | undefined,
  header: BayerPattern | null,
  widthPx: number,
): { planes: Plane[]; warnings: string[] } {
  if (samples.length === 1) {
    const { pattern, warning } = choosePattern(record, header);
    const said = pattern === "none" && header === null ? warnOfMosaic(samples[0], widthPx) : warning;
    return { planes: makeSitePlanes(samples[0], pattern), warnings: said === null ? [] : [said] };
  }
  const planes = ["R", "G", "B"].map((channel, i) => ({ channel, samples: samples[i], sites: EVERY_SITE }));
  if (record === "none") return { planes, warnings: [] };
  return {
    planes,
    warnings: [
      "The picture has three colour planes: where these were interpolated from a colour-filter pattern, stars read too wide. Give the camera's own frames, not interpolated ones, for shapes that can be trusted.",
    ],
  };
}
