import { read } from "../pipeline.ts";
import { buildContent, sayAddress } from "./build-content.ts";
import { readMeasurements } from "./measure-content.ts";
import { isMeasured } from "./measure-test.ts";
import { readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";

/** `npm run build -- --content DIR --out DIR`: records and stored measurements to the site; no frame is needed. */
export async function runBuild(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("build", args, ["content", "out"]);
  const outDir = options.out ?? "_site";
  const content = await read(options.content ?? "content");
  const byTest = await readMeasurements(content);
  for (const train of content.trains) {
    for (const test of train.tests) {
      if (isMeasured(test) && !byTest.has(`${train.id}/${test.id}`)) {
        terminal.step(`${train.id}/${test.id}: not measured yet; npm run report measures its frames`);
      }
    }
  }
  await buildContent(content, byTest, outDir, terminal.step);
  terminal.result(sayAddress(outDir));
}

if (isStarted(import.meta.url)) await runCommand(runBuild);
