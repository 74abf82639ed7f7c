import { sayAddress } from "./build-content.ts";
import { buildFolder } from "./build-folder.ts";
import { readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";

/** `npm run build -- --content DIR --out DIR`: records and stored measurements to the site; no frame is needed. */
export async function runBuild(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("build", args, ["content", "out"]);
  const outDir = options.out ?? "_site";
  await buildFolder(options.content ?? "content", outDir, terminal.step);
  terminal.result(sayAddress(outDir));
}

if (isStarted(import.meta.url)) await runCommand(runBuild);
