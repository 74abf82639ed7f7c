import { read } from "../pipeline.ts";
import { measureContent } from "./measure-content.ts";
import { readCount, readOptions, readShard } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { sayMeasured } from "./say-measured.ts";

/** `npm run measure -- --content DIR [--only TRAIN[/TEST]] [--jobs N] [--shard I/N]`: frames to measurements only. */
export async function runMeasure(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("measure", args, ["content", "frames", "only", "jobs", "shard"]);
  const contentDir = options.content ?? "content";
  const measured = await measureContent(await read(contentDir), {
    framesDir: options.frames ?? null,
    only: options.only ?? null,
    jobs: readCount("measure", "jobs", options.jobs),
    shard: readShard("measure", options.shard),
    onStep: terminal.step,
  });
  terminal.result(
    `${sayMeasured(measured)}; each test's measured.json lies beside its record in ${contentDir}`,
  );
}

if (isStarted(import.meta.url)) await runCommand(runMeasure);
