import { join, relative, resolve } from "node:path";
import { makeDemoFrames } from "../../demo/make-frames.ts";
import { sayAddress } from "./build-content.ts";
import { readCount, readOptions } from "./options.ts";
import { makeReport } from "./report.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { serveSite } from "./serve-site.ts";

const demo = resolve(import.meta.dirname, "../../demo");

/**
 * `npm run demo [-- --serve]`: draws the demo's frames where they are missing, measures them and builds the demo's site
 * into `_site`. Later runs redo only what changed.
 */
export async function runDemo(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("demo", args, ["out", "jobs", "serve", "port"]);
  const outDir = options.out ?? "_site";
  const jobs = readCount("demo", "jobs", options.jobs);
  const { drawn, kept } = await makeDemoFrames(join(demo, "frames"), {
    onStep: terminal.step,
    ...(jobs === undefined ? {} : { workers: jobs }),
  });
  terminal.step(`${drawn.length + kept.length} demo frames, ${drawn.length} drawn now`);
  const contentDir = relative(process.cwd(), join(demo, "content"));
  await makeReport({ contentDir, outDir, framesDir: null, jobs }, terminal);
  terminal.result(sayAddress(outDir));
  if (options.serve !== true) return;
  const server = await serveSite(outDir, readCount("demo", "port", options.port) ?? 8080, false);
  terminal.result(`Served at ${server.address} (Ctrl-C ends)`);
}

if (isStarted(import.meta.url)) await runCommand(runDemo);
