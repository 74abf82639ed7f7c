import { createHash } from "node:crypto";
import { access, mkdir, readdir, rm } from "node:fs/promises";
import { join, relative } from "node:path";
import sharp from "sharp";
import { chooseChannelCrops } from "../colour/choose-channel-crops.ts";
import type { ChannelCrop, ColourMeasurement } from "../colour/colour-measurement.ts";
import { measureHalo } from "../colour/measure-halo.ts";
import { measureLean } from "../colour/measure-lean.ts";
import type { PixelChannel } from "../colour/pixel-channel.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import type { Frame } from "../frames/frame.ts";
import { load } from "../pipeline.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import { chooseMainChannel } from "../report/choose-main-channel.ts";
import { cutOut } from "../stars/cut-out.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import type { SamplePlane } from "../stars/samples.ts";
import { restoreStars, storeStars } from "../stars/star-digits.ts";
import type { FoundFrame } from "./locate-frames.ts";
import { replaceFile } from "./write-file.ts";

export interface ColourRequest {
  train: TrainEntry;
  test: TestEntry;
  /** The test's lights, measured, and where their files are, in the same order. */
  frames: readonly FrameMeasurement[];
  found: readonly FoundFrame[];
  stored: ColourMeasurement | undefined;
  /** Digest of the code that measures colour in pixels. */
  colourCode: string;
  /** The first frame's samples, where they were read anyway. */
  first: Frame | null;
  onStep: (line: string) => void;
}

function takePlane(frame: Frame, channel: string): SamplePlane | null {
  const plane = frame.planes.find((candidate) => candidate.channel === channel);
  return plane === undefined ? null : { ...plane, widthPx: frame.widthPx, heightPx: frame.heightPx };
}

/**
 * What the pixels of frames say of colour: where the light of their stars lies, with several channels halos, and cut-outs of the
 * first one's stars in every channel. Nothing is read again where frames and code are those of what is stored. Null for frames
 * of one channel with no other test that evening: there is no second colour.
 */
export async function measureTestColour(request: ColourRequest): Promise<ColourMeasurement | null> {
  const { train, test, frames, found, stored, colourCode, onStep } = request;
  const hasChannels = (frames[0]?.channels.length ?? 0) > 1;
  if (!hasChannels && !isOneOfSeveral(train, test)) return null;
  if (frames.length === 0 || found.length !== frames.length) return null;
  const text = JSON.stringify([frames.map(({ key }) => key), colourCode]);
  const key = createHash("sha256").update(text).digest("hex").slice(0, 32);
  if (stored?.key === key && (await areThere(test, stored.crops))) return stored;
  const main = chooseMainChannel(frames[0].channels.map(({ channel }) => channel));
  const colour: ColourMeasurement = { key, halos: [], leans: [], crops: [] };
  for (const [index, measured] of frames.entries()) {
    const frame =
      (index === 0 ? request.first : null) ?? (await load(relative(process.cwd(), found[index].path), train));
    const channels = measured.channels.flatMap((part): PixelChannel[] => {
      const plane = takePlane(frame, part.channel);
      if (plane === null) return [];
      // As stored, so that a measurement made later from the stored stars is the same to the last digit.
      return [{ ...part, stars: restoreStars(storeStars(part.stars)), plane, noiseAdu: part.noise.median }];
    });
    colour.leans.push(measureLean(channels, main));
    const halo = measureHalo(channels, main);
    if (halo !== null) colour.halos.push(halo);
    if (index > 0 || !hasChannels) continue;
    const geometry = findGeometry(measured, train.record.camera);
    const tables = Object.fromEntries(channels.map(({ channel, stars }) => [channel, stars]));
    colour.crops = isFault(geometry) ? [] : chooseChannelCrops(tables, main, geometry.geometry);
    await writeChannelCrops(test, frame, colour.crops);
  }
  const count = (list: readonly ({ xPx: number[] } | null)[]) =>
    list.reduce((sum, part) => sum + (part?.xPx.length ?? 0), 0);
  onStep(
    `${train.id}/${test.id}: light of ${count(colour.leans)} bright stars, halos of ${count(colour.halos)}, ${colour.crops.length} cut-outs by colour`,
  );
  return colour;
}

/** Whether another test of the same evening may be through another filter. */
function isOneOfSeveral(train: TrainEntry, test: TestEntry): boolean {
  return train.tests.some(({ id, record }) => id !== test.id && record.date === test.record.date);
}

async function areThere(test: TestEntry, crops: readonly ChannelCrop[]): Promise<boolean> {
  const present = await Promise.all(
    crops.map(({ file }) =>
      access(join(test.dir, file)).then(
        () => true,
        () => false,
      ),
    ),
  );
  return present.every(Boolean);
}

/** Writes the cut-outs as 16-bit grey PNG and takes away those of an earlier choice. */
async function writeChannelCrops(
  test: TestEntry,
  frame: Frame,
  crops: readonly ChannelCrop[],
): Promise<void> {
  const folder = join(test.dir, "crops", "colour");
  await mkdir(folder, { recursive: true });
  for (const { file, channel, xPx, yPx, sidePx } of crops) {
    const plane = takePlane(frame, channel);
    if (plane === null) continue;
    const cut = cutOut(plane, xPx, yPx, sidePx);
    const png = await sharp(cut.samples, { raw: { width: sidePx, height: sidePx, channels: 1 } })
      .toColourspace("grey16")
      .png({ compressionLevel: 9 })
      .toBuffer();
    await replaceFile(join(test.dir, file), png);
  }
  const wanted = new Set(crops.map(({ file }) => file.replace(/^crops\/colour\//, "")));
  for (const name of await readdir(folder)) {
    if (name.endsWith(".png") && !wanted.has(name)) await rm(join(folder, name));
  }
}
