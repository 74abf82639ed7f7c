import { createHash } from "node:crypto";
import { resolve } from "node:path";
import { build } from "esbuild";

const lib = resolve(import.meta.dirname, "..");

/** One file of JavaScript with all that `entry` imports of this project; packages stay outside. */
async function bundle(options: { entry?: string; contents?: string }): Promise<string> {
  const result = await build({
    ...(options.entry === undefined ? {} : { entryPoints: [options.entry] }),
    ...(options.contents === undefined
      ? {}
      : { stdin: { contents: options.contents, resolveDir: lib, loader: "ts" as const } }),
    absWorkingDir: lib,
    bundle: true,
    platform: "node",
    format: "cjs",
    target: "node20",
    packages: "external",
    minifyWhitespace: true,
    legalComments: "none",
    write: false,
    logLevel: "silent",
  });
  return result.outputFiles[0].text;
}

/** The worker's code, ready for a thread: starting a thread on it takes no compiler. */
export function bundleWorker(): Promise<string> {
  return bundle({ entry: resolve(lib, "commands/star-worker.ts") });
}

/** What decides the numbers in a measurement: how a frame is read, and all that happens to its samples. */
const measuringCode = `
export { openFrame } from "./frames/open.ts";
export { measureFrame } from "./stars/measure-frame.ts";
export { encodeFrame } from "./stars/encode-frame.ts";
`;

/** What decides the numbers of the flats. */
const lightCode = `
export { openFrame } from "./frames/open.ts";
export { makeFlatGatherer } from "./light/gather-flats.ts";
export { measureFlats } from "./light/measure-flats.ts";
export { roundFlats } from "./light/flats-digits.ts";
`;

async function digestCode(contents: string): Promise<string> {
  const text = await bundle({ contents });
  return createHash("sha256").update(text).digest("hex").slice(0, 16);
}

/**
 * Digest of the measuring code and everything it imports. Comments and spacing do not change it, a changed sum does;
 * so measurements are made again exactly when the code that made them is another.
 */
export function hashMeasuringCode(): Promise<string> {
  return digestCode(measuringCode);
}

/** The same of the code that measures flats: a better star fit is no reason to read all flats again. */
export function hashLightCode(): Promise<string> {
  return digestCode(lightCode);
}

const colourCode = `
export { openFrame } from "./frames/open.ts";
export { measureHalo } from "./colour/measure-halo.ts";
export { measureLean } from "./colour/measure-lean.ts";
export { chooseChannelCrops } from "./colour/choose-channel-crops.ts";
export { cutOut } from "./stars/cut-out.ts";
export { measureEdge } from "./colour/measure-edge.ts";
`;

/** The same of the code that measures colour in pixels. */
export function hashColourCode(): Promise<string> {
  return digestCode(colourCode);
}

const matchedCode = `
export { openFrame } from "./frames/open.ts";
export { measureMatchedFrame } from "./compare/measure-matched.ts";
export { encodeMatched } from "./compare/matched-codec.ts";
`;

/** The same of the code that brings frames to a coarser grid and measures them there. */
export function hashMatchedCode(): Promise<string> {
  return digestCode(matchedCode);
}
