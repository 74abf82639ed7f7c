import { readSeeingShare } from "../field/blur-width.ts";
import { FIELD_SEED, makeFieldOptics } from "../field/field-optics.ts";
import { type FieldFit, fitField } from "../field/fit-field.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { drawWidth } from "./draw-widths.ts";
import type { NightRemoval } from "./remove-night.ts";
import type { SideStars } from "./side-stars.ts";
import { removeNightByCentre, removeNightByModel } from "./tell-night.ts";
import { readSweptField } from "./use-sweep.ts";

/** All frames of the main channel, those taken out of focus on purpose too: the tables the page's own field model rests on. */
function listFieldTables({ measurement, results, tables }: ComparisonSide): StarTable[] {
  const all = (measurement?.frames ?? []).flatMap((frame) =>
    frame.channels.filter(({ channel }) => channel === results?.channel).map(({ stars }) => stars),
  );
  return all.length > 0 ? all : tables;
}

/** The offset at which the frames in focus were taken, um: the one nearest to zero. */
function findFocusOffset(offsets: number | readonly number[] | undefined): number {
  if (typeof offsets !== "object") return offsets ?? 0;
  return offsets.reduce(
    (best, offset) => (Math.abs(offset) < Math.abs(best) ? offset : best),
    offsets[0] ?? 0,
  );
}

/** Tells a side's night from its optics: by the field model where one can be fitted, else by the centre. Null without stars there. */
export function removeNight(side: ComparisonSide, stars: SideStars, seed: number): NightRemoval | null {
  const { geometry, results, test } = side;
  if (geometry === null || results === null || test === null) return null;
  const optics = makeFieldOptics(side.train.record, test.record, results.scale, geometry);
  const offsets = test.record.focusOffsetUm;
  const frames = listFieldTables(side).map((table, k) => ({
    stars: table,
    focusOffsetUm: typeof offsets === "number" ? offsets : (offsets[k] ?? 0),
  }));
  const fit = fitField(frames, optics, { seed: FIELD_SEED });
  if (isFitted(fit)) return removeNightByModel(fit, findFocusOffset(offsets), stars, readSweptField(side));
  const centre = drawWidth(stars, stars.zones.centre, seed);
  return centre === null ? null : removeNightByCentre(centre.value * geometry.umPerPx, optics, seed);
}

function isFitted(fit: FieldFit | { why: string }): fit is FieldFit {
  return "draws" in fit;
}

/** Air and guiding together as the side's night had them: FWHM on the sky with diffraction taken out, arcsec. */
export function readNightArcsec({ best, optics }: NightRemoval, stars: SideStars): number {
  const focusedUm = Math.exp(best.night.lnWidth);
  const share = readSeeingShare(
    optics.obstructionRatio,
    (optics.wavelengthUm * optics.focalRatio) / focusedUm,
  );
  return (focusedUm * share * stars.scale.arcsecPerPx) / stars.scale.umPerPx;
}

/** FWHM (um) that a star in focus has on the side's sensor when air and guiding together blur it by `nightArcsec`. */
export function predictFocusedUm({ optics }: NightRemoval, stars: SideStars, nightArcsec: number): number {
  const nightUm = (nightArcsec * stars.scale.umPerPx) / stars.scale.arcsecPerPx;
  const diffractionUm = optics.wavelengthUm * optics.focalRatio;
  let [low, high] = [nightUm, nightUm + 2 * diffractionUm];
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (middle * readSeeingShare(optics.obstructionRatio, diffractionUm / middle) < nightUm) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
