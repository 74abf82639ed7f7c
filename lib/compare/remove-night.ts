import { type BlurOptics, evaluateShape, type NightBlur, prepareNight } from "../field/field-model.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import {
  type ModelledFrame,
  type ModelledZone,
  modelBlurDiameter,
  modelWidth,
  solveBlurFactor,
} from "./blur-in-zone.ts";
import { type Drawn, drawContrast } from "./draw-widths.ts";
import type { SideStars } from "./side-stars.ts";

/** What one believable field and night say: the pattern of the optics' blur, and the star in focus. */
export interface BelievedNight {
  field: Float64Array;
  night: NightBlur;
  /** FWHM at the centre, um, that goes with it. */
  centreUm: number;
}

/** A side with its night told apart from its optics: what `drawOwnBlur` reads regions against. */
export interface NightRemoval {
  optics: BlurOptics;
  frame: ModelledFrame;
  best: BelievedNight;
  draws: BelievedNight[];
  /** A focus sweep measured the focal surface: the strength of its aberrations is not left to the widths in focus. */
  isSwept: boolean;
  /** What the numbers rest on, in one sentence. */
  basis: string;
}

/** FWHM of a Gaussian over the rms spread of a disc of diameter 1 along one axis: sqrt(8 ln 2) / 4. */
const widthOfDisc = Math.sqrt(8 * Math.LN2) / 4;

/**
 * The optics' own blur as a half-maximum width, um: that of a Gaussian of the same spread as the geometric blur, the
 * spread of a uniform annulus of outer diameter d being d sqrt(1 + eps2) / 4 along each axis (Smith, Modern Optical
 * Engineering, for the geometry of the defocused cone; the annulus' second moment by integration).
 */
export function toBlurWidth(diameterUm: number, obstructionRatio: number): number {
  return widthOfDisc * Math.sqrt(1 + obstructionRatio ** 2) * diameterUm;
}

/** Places that stand for a region: stars at even steps of what the best field makes of their widths. */
const representatives = 7;

export function chooseRepresentatives(
  field: Float64Array,
  night: NightBlur,
  { focalRatio, focusOffsetUm }: ModelledFrame,
  stars: SideStars,
  rows: readonly number[],
): ModelledZone {
  const { xMm, yMm } = stars.placed.places;
  const shape = new Float64Array(3);
  const ranked = rows
    .map((row) => {
      evaluateShape(field, night, focusOffsetUm, focalRatio, xMm[row], yMm[row], shape, 0);
      return { row, width: shape[0] };
    })
    .sort((one, other) => one.width - other.width || one.row - other.row);
  const count = Math.min(representatives, ranked.length);
  const chosen = Array.from(
    { length: count },
    (_, k) => ranked[Math.floor(((k + 0.5) / count) * ranked.length)].row,
  );
  return { xMm: chosen.map((row) => xMm[row]), yMm: chosen.map((row) => yMm[row]) };
}

/**
 * How far the model's ratio of two zones' widths may be off (one wavelength for a band, tracking that stretches
 * diffraction too), one sigma. Chosen from simulated fields of known truth.
 */
const modelContrastFault = 0.0015;

/**
 * One sigma by which all heights of a sweep are wrong alike, as a share: a focuser's step is measured with a caliper over
 * some mm of travel, and a region's blur is that of a few of its stars. Chosen.
 */
const stepFault = 0.03;

/** A region's own blur, and how wide its stars would be under another night. */
export interface OwnBlur {
  /** FWHM of the Gaussian of equal spread, um. */
  blur: Drawn;
  /** FWHM, um, of the region's stars where a star in focus has the width asked for; null where none was asked for. */
  underOtherNight: Drawn | null;
}

/**
 * The optics' own blur in a region (um, FWHM of the Gaussian of equal spread), seeing, tracking and diffraction taken out.
 * For each believable night the region's width over the centre's, as measured, is put on the model's centre; the
 * aberrations of that field are then made as strong as this width asks for. Zero draws mean that the region's stars are no
 * wider than a star in focus: the upper end of the interval is then a limit. Where a sweep measured the focal surface, its
 * blur is taken as it is: heights tell it far better than the few percent by which it widens a star.
 *
 * @param wanted - FWHM in focus of a night under which the region's widths are wanted too (null: none), and how many
 *   draws at most
 */
export function drawOwnBlur(
  removal: NightRemoval,
  stars: SideStars,
  rows: readonly number[],
  wanted: { otherFocusedUm: number | null; draws: number },
  seed: number,
): OwnBlur | null {
  const contrast = drawContrast(stars, rows, stars.zones.centre, seed);
  if (contrast === null) return null;
  const { frame, optics, best, isSwept } = removal;
  const zone = chooseRepresentatives(best.field, best.night, frame, stars, rows);
  const normal = makeNormalRandom(makeRandom(seed + 1));
  const other =
    wanted.otherFocusedUm === null ? null : prepareNight(Math.log(wanted.otherFocusedUm), 0, 0, optics);
  const solve = (
    { field, night, centreUm }: BelievedNight,
    ratio: number,
    scale: number,
  ): [number, number] => {
    const factor = isSwept ? 1 : solveBlurFactor(zone, field, centreUm * ratio, night, frame);
    const blur = scale * factor * modelBlurDiameter(zone, field, frame);
    return [
      toBlurWidth(blur, optics.obstructionRatio),
      other === null ? Number.NaN : modelWidth(zone, field, scale * factor, other, frame),
    ];
  };
  const count = Math.min(wanted.draws, removal.draws.length);
  const drawn = Array.from({ length: count }, (_, k) =>
    solve(
      removal.draws[Math.floor((k * removal.draws.length) / count)],
      contrast.draws[Math.floor((k * contrast.draws.length) / count)] *
        Math.exp(modelContrastFault * normal()),
      Math.exp((isSwept ? stepFault : stars.commonFault) * normal()),
    ),
  );
  const [blur, width] = solve(best, contrast.value, 1);
  const gather = (value: number, part: 0 | 1): Drawn => ({
    value,
    draws: Float64Array.from(drawn, (pair) => pair[part]),
    stars: contrast.stars,
  });
  return { blur: gather(blur, 0), underOtherNight: other === null ? null : gather(width, 1) };
}
