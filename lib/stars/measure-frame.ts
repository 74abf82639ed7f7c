import type { Frame, Plane } from "../frames/frame.ts";
import { quantileOfSorted } from "../maths/statistics.ts";
import { findFrameFault } from "./find-frame-fault.ts";
import type {
  ChannelMeasurement,
  FrameMeasurement,
  KeptHeader,
  LevelMeasurement,
  MeasuringSettings,
} from "./frame-measurement.ts";
import { measurePlane } from "./measure-plane.ts";
import type { LearnedShape, MeshMap } from "./plane-measurement.ts";
import type { StarTaskRunner } from "./star-task.ts";

/** Median of the mesh and where it lies 95 % of the time, by order statistics. */
function measureLevel(map: MeshMap): LevelMeasurement {
  const sorted = map.values.filter((value) => Number.isFinite(value)).sort();
  const n = sorted.length;
  const reach = n === 0 ? 0 : 0.98 / Math.sqrt(n);
  return {
    median: quantileOfSorted(sorted, 0.5),
    lo: quantileOfSorted(sorted, Math.max(0, 0.5 - reach)),
    hi: quantileOfSorted(sorted, Math.min(1, 0.5 + reach)),
    cells: n,
  };
}

async function measureChannel(
  frame: Frame,
  plane: Plane,
  settings: MeasuringSettings,
  run: StarTaskRunner,
  sibling: LearnedShape | null,
): Promise<{ channel: ChannelMeasurement; learned: LearnedShape }> {
  const { header } = frame;
  const measured = await measurePlane(
    {
      widthPx: frame.widthPx,
      heightPx: frame.heightPx,
      samples: plane.samples,
      sites: plane.sites,
      ...(plane.noiseFactor === undefined ? {} : { noiseFactor: plane.noiseFactor }),
    },
    plane.channel,
    {
      gainElectronsPerAdu: settings.gainElectronsPerAdu ?? header.gainElectronsPerAdu,
      readNoiseElectrons: settings.readNoiseElectrons ?? header.readNoiseElectrons,
      saturationAdu: settings.saturationAdu ?? header.saturationAdu,
    },
    run,
    sibling,
  );
  const channel = {
    channel: plane.channel,
    found: measured.found,
    background: measureLevel(measured.background),
    noise: measureLevel(measured.noise),
    gainElectronsPerAdu: measured.gainElectronsPerAdu,
    gainIs: measured.gainIs,
    moffatBeta: measured.profile.moffatBeta,
    starsLearnedFrom: measured.profile.starsLearnedFrom,
    warnings: measured.warnings,
    stars: measured.stars,
  };
  return { channel, learned: measured.learned };
}

/**
 * The channels in the order of the planes. The one with most sites comes first, as the others of a colour-filter frame,
 * with half its sites, lean on what it learned of the air and the tracking.
 */
async function measureChannels(
  frame: Frame,
  settings: MeasuringSettings,
  run: StarTaskRunner,
  learnedBefore: LearnedShape | null,
): Promise<ChannelMeasurement[]> {
  const countSites = ({ sites }: Plane) => sites.filter((own) => own).length;
  const order = frame.planes.toSorted((a, b) => countSites(b) - countSites(a));
  const measured = new Map<Plane, ChannelMeasurement>();
  let sibling = learnedBefore;
  for (const plane of order) {
    const { channel, learned } = await measureChannel(frame, plane, settings, run, sibling);
    measured.set(plane, channel);
    sibling ??= learned;
  }
  return frame.planes.flatMap((plane) => measured.get(plane) ?? []);
}

/** Place of a part read out of the sensor, from the keywords XORGSUBF and YORGSUBF (common practice, no source). */
function readCropOrigin(frame: Frame): KeptHeader["cropOriginPx"] {
  const { keywords } = frame.header;
  const [x, y] = [Number.parseFloat(keywords.XORGSUBF ?? ""), Number.parseFloat(keywords.YORGSUBF ?? "")];
  return Number.isFinite(x) && Number.isFinite(y) && x >= 0 && y >= 0 ? { x, y } : null;
}

function keepHeader(frame: Frame, askedKeywords: readonly string[]): KeptHeader {
  const { header } = frame;
  const asked = askedKeywords.filter((keyword) => Object.hasOwn(header.keywords, keyword));
  return {
    kind: header.kind,
    exposureS: header.exposureS,
    filter: header.filter,
    dateObs: header.dateObs,
    binning: header.binning,
    pixelPitchUm: header.pixelPitchUm,
    focalLengthMm: header.focalLengthMm,
    wcsScaleArcsecPerPx: header.wcsScaleArcsecPerPx,
    wcsRotationDeg: header.wcsRotationDeg,
    altitudeDeg: header.altitudeDeg,
    focuserPosition: header.focuserPosition,
    asked: Object.fromEntries(asked.map((keyword) => [keyword, header.keywords[keyword]])),
    cropOriginPx: readCropOrigin(frame),
  };
}

export interface FrameRequest {
  /** Name to store the frame under, relative to its record. */
  file: string;
  key: string;
  settings: MeasuringSettings;
  askedKeywords: readonly string[];
  /** What a better sampled picture of the same light has learned of its stars; left out: the frame learns its own. */
  learned?: LearnedShape;
}

/**
 * Measures every channel of a frame, one after the other; the channel's own work is shared out by `run`.
 *
 * @throws ReportError where the frame is no star field that can be measured: a flat, bias or dark by its header, a
 *   frame of one value, saturated throughout, or without a usable star.
 */
export async function measureFrame(
  frame: Frame,
  request: FrameRequest,
  run: StarTaskRunner,
): Promise<FrameMeasurement> {
  const saturationAdu =
    request.settings.saturationAdu ?? frame.header.saturationAdu ?? frame.fullScaleAdu ?? null;
  findFrameFault(frame, saturationAdu);
  const channels = await measureChannels(frame, request.settings, run, request.learned ?? null);
  return {
    file: request.file,
    sha256: frame.sha256,
    key: request.key,
    format: frame.format,
    widthPx: frame.widthPx,
    heightPx: frame.heightPx,
    header: keepHeader(frame, request.askedKeywords),
    warnings: frame.warnings,
    channels,
  };
}
