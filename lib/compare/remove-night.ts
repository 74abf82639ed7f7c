import {
  type BlurOptics,
  evaluateShape,
  NIGHT,
  type NightBlur,
  prepareNight,
  TERM,
} from "../field/field-model.ts";
import { placeNight } from "../field/field-problem.ts";
import type { FieldFit } from "../field/fit-field.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import { resampleByWeight } from "../maths/resample.ts";
import {
  type ModelledFrame,
  type ModelledZone,
  makeDefocusField,
  modelBlurDiameter,
  modelWidth,
  solveBlurFactor,
} from "./blur-in-zone.ts";
import { type Drawn, drawContrast } from "./draw-widths.ts";
import type { SideStars } from "./side-stars.ts";

/** What one believable field and night say: the pattern of the optics' blur, and the star in focus. */
interface BelievedNight {
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

/** The frames' nights as one: mean logarithm of the width in focus, mean elongation. */
function readNight(field: Float64Array, frames: number, optics: BlurOptics): NightBlur {
  let [lnWidth, e1, e2] = [0, 0, 0];
  for (let f = 0; f < frames; f++) {
    const own = placeNight(f);
    lnWidth += field[own + NIGHT.lnWidth] / frames;
    e1 += field[own + NIGHT.e1] / frames;
    e2 += field[own + NIGHT.e2] / frames;
  }
  return prepareNight(lnWidth, e1, e2, optics);
}

/**
 * One sigma by which a frame taken in focus is out of focus at the centre, um: a quarter of the quarter-wave depth 2 lambda
 * N2 (Rayleigh's limit; Born & Wolf, 8.8). Chosen: some 13 um at f/7, 8 um at f/5.5, what a motor focuser repeats within
 * (common practice, no source). A flat field out of focus all over looks like a poorer night, so the stars alone leave
 * this open; where their shapes tell it, they outweigh this.
 */
export function expectFocusUm({ wavelengthUm, focalRatio }: BlurOptics): number {
  return (wavelengthUm * focalRatio ** 2) / 2;
}

/** The night as the field model tells it: the star in focus that goes with each believable field. */
export function removeNightByModel(fit: FieldFit, focusOffsetUm: number, stars: SideStars): NightRemoval {
  const { optics, problem } = fit;
  const frame = { focalRatio: optics.focalRatio, focusOffsetUm };
  const bestNight = readNight(fit.parameters, problem.frames.length, optics);
  const centre = chooseRepresentatives(fit.parameters, bestNight, frame, stars, stars.zones.centre);
  const believe = (field: Float64Array): BelievedNight => {
    const night = readNight(field, problem.frames.length, optics);
    return { field, night, centreUm: modelWidth(centre, field, 1, night, frame) };
  };
  const expected = expectFocusUm(optics);
  const squares = fit.draws.map(
    (field) => ((optics.focalRatio * modelBlurDiameter(centre, field, frame)) / expected) ** 2,
  );
  const least = Math.min(...squares);
  const kept = resampleByWeight(
    fit.draws,
    squares.map((square) => Math.exp((least - square) / 2)),
  );
  return {
    optics,
    frame,
    best: believe(chooseMiddle(kept, centre, frame)),
    draws: kept.map(believe),
    basis: `the field model of this test, the centre taken as in focus to ${expected.toFixed(0)} um (one sigma)`,
  };
}

/** The field with the middle amount of blur at the centre: it stands for all of them. */
function chooseMiddle(
  fields: readonly Float64Array[],
  centre: ModelledZone,
  frame: ModelledFrame,
): Float64Array {
  const ranked = fields
    .map((field) => ({ field, blur: modelBlurDiameter(centre, field, frame) }))
    .sort((one, other) => one.blur - other.blur);
  return ranked[Math.floor(ranked.length / 2)].field;
}

const drawsWithoutModel = 400;

/**
 * Where no field model could be fitted: the centre's own width is taken for the night, in focus as `expectFocusUm` has it.
 * What pattern the blur has elsewhere is open: a defocus, or astigmatism at best focus.
 */
export function removeNightByCentre(centreWidthUm: number, optics: BlurOptics, seed: number): NightRemoval {
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const expected = expectFocusUm(optics);
  const frame = { focalRatio: optics.focalRatio, focusOffsetUm: 0 };
  const believe = (heightUm: number, crossed: boolean): BelievedNight => {
    const field = makeDefocusField(heightUm);
    const here = { xMm: [0], yMm: [0] };
    let focused = centreWidthUm;
    // The width in focus that this height widens to the one seen.
    for (let step = 0; step < 6; step++) {
      const night = prepareNight(Math.log(focused), 0, 0, optics);
      focused *= centreWidthUm / modelWidth(here, field, 1, night, frame);
    }
    const night = prepareNight(Math.log(focused), 0, 0, optics);
    const pattern = makeDefocusField(Math.max(1, Math.abs(heightUm)));
    if (crossed) {
      // Foci at equal distances on either side of the sensor, all over the field but for its very centre.
      pattern[TERM.defocus] = 0;
      pattern[TERM.astigmatism] = Math.max(1, Math.abs(heightUm)) / 100;
    }
    return { field: pattern, night, centreUm: centreWidthUm };
  };
  return {
    optics,
    frame,
    best: believe(expected / 2, false),
    draws: Array.from({ length: drawsWithoutModel }, () => believe(expected * normal(), random() < 0.5)),
    basis: `the width at the centre, taken as in focus to ${expected.toFixed(0)} um (one sigma)`,
  };
}

/** Places that stand for a region: stars at even steps of what the best field makes of their widths. */
const representatives = 7;

function chooseRepresentatives(
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
 * wider than a star in focus: the upper end of the interval is then a limit.
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
  const { frame, optics, best } = removal;
  const zone = chooseRepresentatives(best.field, best.night, frame, stars, rows);
  const normal = makeNormalRandom(makeRandom(seed + 1));
  const other =
    wanted.otherFocusedUm === null ? null : prepareNight(Math.log(wanted.otherFocusedUm), 0, 0, optics);
  const solve = (
    { field, night, centreUm }: BelievedNight,
    ratio: number,
    scale: number,
  ): [number, number] => {
    const factor = solveBlurFactor(zone, field, centreUm * ratio, night, frame);
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
      Math.exp(stars.commonFault * normal()),
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
