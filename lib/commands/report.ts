import { read } from "../pipeline.ts";
import { buildContent, sayAddress } from "./build-content.ts";
import { everything, measureContent } from "./measure-content.ts";
import { readCount, readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { sayMeasured } from "./say-measured.ts";

export interface ReportRequest {
  contentDir: string;
  outDir: string;
  framesDir: string | null;
  jobs: number | undefined;
}

/** Measures what is new or changed, then builds the site. */
export async function makeReport(request: ReportRequest, terminal: Terminal): Promise<void> {
  const content = await read(request.contentDir);
  const measured = await measureContent(content, {
    framesDir: request.framesDir,
    only: null,
    jobs: request.jobs,
    shard: everything,
    onStep: terminal.step,
  });
  terminal.step(sayMeasured(measured));
  await buildContent({ content, outDir: request.outDir, onStep: terminal.step });
}

/** `npm run report -- --content DIR --out DIR` */
export async function runReport(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("report", args, ["content", "out", "frames", "jobs"]);
  const outDir = options.out ?? "_site";
  const request = {
    contentDir: options.content ?? "content",
    outDir,
    framesDir: options.frames ?? null,
    jobs: readCount("report", "jobs", options.jobs),
  };
  await makeReport(request, terminal);
  terminal.result(sayAddress(outDir));
}

if (isStarted(import.meta.url)) await runCommand(runReport);
