import { computeHalfDiagonalMm, type SensorGeometry } from "../field/geometry.ts";
import type { SweepResults } from "../field/sweep.ts";
import type { ZoneResults } from "../field/zones.ts";
import { makeUnknown, type Quantity } from "../maths/quantity.ts";
import { remember } from "../maths/remember.ts";
import type { ColourChannel, ColourPair, ColourResults } from "../report/colour-results.ts";
import type { FrameTransform } from "../stars/align-frames.ts";
import { alignFrames } from "../stars/combine-frames.ts";
import type { StarTable } from "../stars/star-table.ts";
import { computeAnnularWidths } from "../train/diffraction.ts";
import { chooseReference, type Passband } from "./channel-wavelengths.ts";
import { compareFocus } from "./compare-focus.ts";
import { expectAir } from "./expect-air.ts";
import { type ChannelLean, listShiftStars, type TablePair } from "./list-shift-stars.ts";
import { makeEmptyPair, makePair, makeYardsticks, type PairSetting, type Yardsticks } from "./make-pair.ts";
import { isDither } from "./match-channels.ts";
import { FEWEST_PAIRS, measureShift } from "./measure-shift.ts";

/** One colour of the pixels, or one filter. */
export interface ColourInput {
  name: string;
  passband: Passband | null;
  /** One a frame; those of the pixels' colours belong together frame by frame. */
  tables: readonly StarTable[];
  /** Where the light of bright stars lies from their fitted places, one for each table; null where it was not measured. */
  leans: readonly (ChannelLean | null)[];
  zones: ZoneResults | null;
  sweep: SweepResults | null;
  altitudeDeg: number | null;
}

export interface ColourRequest {
  from: ColourResults["from"];
  tests: string[];
  channels: readonly ColourInput[];
  geometry: SensorGeometry;
  focalLengthMm: number;
  apertureMm: number;
  obstructionMm: number;
  arcsecPerPx: number;
  /** Width that the air gives, arcsec; unknown where no field model tells it. */
  seeing: Quantity;
  temperatureC: number | null;
  zenithAngleDeg: number | null;
}

const pointedAnew =
  "Frames through different filters are pointed anew, so a shift between them is the mount’s and not the air’s.";

/** Where no passband is known the Airy disc is that of green light, um. */
const greenUm = 0.535;

function chooseYardsticks(request: ColourRequest, reference: ColourInput): Yardsticks {
  const { apertureMm, obstructionMm, focalLengthMm, geometry, arcsecPerPx, seeing } = request;
  const wavelengthUm = reference.passband?.middleUm ?? greenUm;
  const { firstDarkDiameter } = computeAnnularWidths(obstructionMm / apertureMm);
  const umPerArcsec = geometry.umPerPx / arcsecPerPx;
  const width =
    seeing.value === null
      ? (reference.zones?.centre.fwhm.um ?? makeUnknown("um", seeing.why))
      : ({
          ...seeing,
          unit: "um",
          value: seeing.value * umPerArcsec,
          lo: seeing.lo * umPerArcsec,
          hi: seeing.hi * umPerArcsec,
        } as const);
  return makeYardsticks({
    airyUm: (firstDarkDiameter * wavelengthUm * focalLengthMm) / apertureMm,
    pixelUm: geometry.umPerPx,
    seeing: width,
  });
}

function describeChannel(channel: ColourInput, reference: ColourInput): ColourChannel {
  const why = "No star of this channel was measured.";
  const unknown = (unit: "px" | "um" | "arcsec") => makeUnknown(unit, why);
  return {
    fwhm: channel.zones?.centre.fwhm ?? {
      px: unknown("px"),
      um: unknown("um"),
      arcsec: unknown("arcsec"),
    },
    bestFocusOffset: compareFocus(channel.sweep, reference.sweep, channel === reference),
    cornerFwhm: channel.zones?.corner.fwhm.um ?? unknown("um"),
    wavelengthNm: channel.passband === null ? null : Math.round(channel.passband.middleUm * 1000),
    stars: channel.zones === null ? 0 : channel.zones.centre.stars,
  };
}

/** Planes of one frame lie on each other; the stars' colours come from the bluest and the reddest of them. */
function pairPlanes(of: ColourInput, against: ColourInput, channels: readonly ColourInput[]): TablePair[] {
  const known = channels.filter(({ passband }) => passband !== null);
  const byWavelength = [...known].sort((a, b) => a.passband!.middleUm - b.passband!.middleUm);
  const [blue, red] = [byWavelength[0] ?? of, byWavelength.at(-1) ?? against];
  return of.tables.flatMap((table, k) => {
    if (against.tables[k] === undefined) return [];
    const colour = { blue: blue.tables[k], red: red.tables[k] };
    return [{ of: table, against: against.tables[k], colour, ...pickLeans(of, against, k) }];
  });
}

function pickLeans(of: ColourInput, against: ColourInput, k: number): Pick<TablePair, "lean"> {
  const [own, other] = [of.leans[k] ?? null, against.leans[k] ?? null];
  return own === null || other === null ? {} : { lean: { of: own, against: other } };
}

/** Frames of two filters, the first with the first and so on, so that no frame counts twice; or why they cannot be paired. */
function pairFrames(
  of: ColourInput,
  against: ColourInput,
  geometry: SensorGeometry,
): TablePair[] | { why: string } {
  const aligned: (TablePair & { transform: FrameTransform })[] = [];
  let turned = 0;
  for (let k = 0; k < Math.min(of.tables.length, against.tables.length); k++) {
    const pair = { of: of.tables[k], against: against.tables[k], ...pickLeans(of, against, k) };
    const transform = alignFrames(pair.against, pair.of);
    if (transform === null) continue;
    if (isDither(transform, geometry.widthPx, geometry.heightPx)) aligned.push({ ...pair, transform });
    else turned++;
  }
  if (aligned.length === 0) {
    return {
      why:
        turned > 0
          ? "The frames of the two filters are turned or shifted so far that a star stands in another part of the field."
          : "The frames of the two filters show no common stars.",
    };
  }
  const ofIsBlue = (of.passband?.middleUm ?? 0) < (against.passband?.middleUm ?? 1);
  return aligned.map((pair) => ({
    ...pair,
    colour: ofIsBlue ? { blue: pair.of, red: pair.against } : { blue: pair.against, red: pair.of },
  }));
}

function measurePair(
  of: ColourInput,
  against: ColourInput,
  request: ColourRequest,
  yardsticks: Yardsticks,
): ColourPair {
  const { geometry, focalLengthMm, arcsecPerPx } = request;
  const halfDiagonalMm = computeHalfDiagonalMm(geometry);
  const ownPointing = request.from === "filters";
  const setting: PairSetting = {
    of: of.name,
    against: against.name,
    air: expectAir({
      of: of.passband,
      against: against.passband,
      altitudeDeg: against.altitudeDeg,
      temperatureC: request.temperatureC,
      focalLengthMm,
      halfDiagonalMm,
    }),
    yardsticks,
    arcsecPerUm: arcsecPerPx / geometry.umPerPx,
    zenithAngleDeg: request.zenithAngleDeg,
    whyNoShift: ownPointing ? pointedAnew : null,
  };
  const pairs = ownPointing ? pairFrames(of, against, geometry) : pairPlanes(of, against, request.channels);
  if ("why" in pairs) return makeEmptyPair(setting, pairs.why);
  const stars = listShiftStars(pairs, geometry);
  const units = { halfDiagonalMm, widthMm: geometry.sensorWidthMm, heightMm: geometry.sensorHeightMm };
  const measure = measureShift(stars, units, ownPointing);
  if (measure === null) {
    const count = new Set(stars.star).size;
    return makeEmptyPair(
      setting,
      `${count} stars are usable in both channels; at least ${FEWEST_PAIRS} spread over the field are needed.`,
    );
  }
  return makePair(measure, stars, setting);
}

/**
 * Lateral and longitudinal colour and the air's dispersion from the star tables of two channels or more; null for a single one.
 * `halo` and `crops` need pixels and are put in by whoever has them.
 */
export function measureColour(request: ColourRequest): ColourResults | null {
  return remember("colour/measure-colour", measureAnew, request);
}

function measureAnew(request: ColourRequest): ColourResults | null {
  const { channels } = request;
  const name = chooseReference(channels);
  const reference = channels.find((channel) => channel.name === name);
  if (reference === undefined || channels.length < 2) return null;
  const yardsticks = chooseYardsticks(request, reference);
  return {
    channels: Object.fromEntries(
      channels.map((channel) => [channel.name, describeChannel(channel, reference)]),
    ),
    pairs: channels
      .filter((channel) => channel !== reference)
      .map((channel) => measurePair(channel, reference, request, yardsticks)),
    reference: reference.name,
    from: request.from,
    tests: request.tests,
    yardsticks,
    halo: null,
    crops: null,
    notes: listNotes(request),
  };
}

function listNotes({ from, channels, zenithAngleDeg }: ColourRequest): string[] {
  const notes: string[] = [];
  if (channels.some(({ passband }) => passband === null)) {
    notes.push(
      "The passband of a filter is not known; give filter.wavelengthNm for the air’s share to be reckoned.",
    );
  } else if (channels.some(({ passband }) => passband?.stated === false)) {
    notes.push(
      from === "pixels"
        ? "The pixels’ passbands are taken as those of usual colour sensors; camera.coloursNm sets them."
        : "A filter’s passband is taken from its name; filter.wavelengthNm sets it.",
    );
  }
  if (from === "pixels" && zenithAngleDeg === null) {
    notes.push(
      "The record does not say where the zenith is on the frame (zenithAngleDeg), so the air’s shift is compared by size only.",
    );
  }
  if (from === "filters") {
    notes.push(
      "Each filter has frames of its own: shift, turn and what a dither makes of distortion are fitted away, and a change of focus between filters counts as a change of scale.",
    );
    const fewest = Math.min(...channels.map(({ tables }) => tables.length));
    if (fewest < 2)
      notes.push(
        "A filter has a single frame: the interval does not carry how the scale changes from frame to frame.",
      );
  }
  return notes;
}
