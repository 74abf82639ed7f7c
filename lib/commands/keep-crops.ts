import { access, mkdir, readdir, rm } from "node:fs/promises";
import { join } from "node:path";
import sharp from "sharp";
import { chooseSpokes } from "../field/choose-spokes.ts";
import type { SensorGeometry } from "../field/geometry.ts";
import type { Frame } from "../frames/frame.ts";
import type { TestEntry } from "../records/types.ts";
import { chooseMainChannel } from "../report/choose-main-channel.ts";
import { cutOut } from "../stars/cut-out.ts";
import type { CropMeasurement, FrameMeasurement } from "../stars/frame-measurement.ts";
import { replaceFile } from "./write-file.ts";

/** Whether every cut-out that a measurement names is there. */
export async function hasCrops(test: TestEntry, crops: readonly CropMeasurement[]): Promise<boolean> {
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

/** The cut-outs of a frame's stars that the spokes want. The same measurement gives the same choice. */
export function chooseCrops(measured: FrameMeasurement, geometry: SensorGeometry): CropMeasurement[] {
  const main = chooseMainChannel(measured.channels.map(({ channel }) => channel));
  const stars = measured.channels.find(({ channel }) => channel === main)?.stars;
  return stars === undefined ? [] : chooseSpokes(stars, geometry);
}

/** Writes the cut-outs as 16-bit grey PNG and takes away those of an earlier choice. */
export async function writeCrops(
  test: TestEntry,
  frame: Frame,
  crops: readonly CropMeasurement[],
): Promise<void> {
  const folder = join(test.dir, "crops");
  await mkdir(folder, { recursive: true });
  const main = chooseMainChannel(frame.planes.map(({ channel }) => channel));
  const plane = frame.planes.find(({ channel }) => channel === main) ?? frame.planes[0];
  const samples = { ...plane, widthPx: frame.widthPx, heightPx: frame.heightPx };
  for (const { file, xPx, yPx, sidePx } of crops) {
    const cut = cutOut(samples, xPx, yPx, sidePx);
    const png = await sharp(cut.samples, { raw: { width: sidePx, height: sidePx, channels: 1 } })
      .toColourspace("grey16")
      .png({ compressionLevel: 9 })
      .toBuffer();
    await replaceFile(join(test.dir, file), png);
  }
  const wanted = new Set(crops.map(({ file }) => file.replace(/^crops\//, "")));
  for (const name of await readdir(folder)) {
    if (name.endsWith(".png") && !wanted.has(name)) await rm(join(folder, name));
  }
}
