import { existsSync } from "node:fs";
import { mkdir } from "node:fs/promises";
import { join, relative, resolve, sep } from "node:path";
import { sayAddress } from "./build-content.ts";
import { openDevProcess } from "./dev-process.ts";
import { readCount, readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { serveSite } from "./serve-site.ts";
import { watchFolder } from "./watch-folder.ts";

const root = resolve(import.meta.dirname, "../..");
/** Editors write a file in several strokes; what comes within this time is one change. */
const settleMs = 60;
/** What a build writes itself must not start the next one, nor what editors keep beside a file. */
const ownFiles = /^(\.cache|_site|node_modules|\.git|frames)$|\.part$|\.tmp$|~$|\.sw.$/;

/** What loads the program is loaded by its process once. */
const loaders = /\.mjs$|[\\/](dev-builder|live-program|module-graph)\.ts$/;

export interface LiveView {
  address: string;
  close: () => void;
}

/**
 * Builds the site, serves it, and builds again on each change of a record, prose, template, style or library code; open
 * pages load again, or show what is wrong with the records: file, line and what to change.
 */
export async function startDev(
  options: { contentDir: string; outDir: string; port: number },
  terminal: Terminal,
): Promise<LiveView> {
  const { contentDir, outDir } = options;
  if (existsSync(contentDir)) await mkdir(join(contentDir, ".cache"), { recursive: true });
  const builder = openDevProcess();
  const server = await serveSite(outDir, options.port, true);

  const rebuild = async () => {
    const started = performance.now();
    const { faults, steps } = await builder.build({ contentDir, outDir });
    if (faults === null) {
      for (const step of steps) terminal.step(step);
      terminal.step(`Built in ${((performance.now() - started) / 1000).toFixed(1)} s`);
    } else {
      terminal.step(faults);
      terminal.step("The site stays as it was.");
    }
    server.tell(faults);
  };

  let timer: NodeJS.Timeout | null = null;
  let building = rebuild();
  const site = resolve(outDir) + sep;
  const onChange = (file: string) => {
    if (resolve(file).startsWith(site)) return;
    const shown = relative(process.cwd(), file);
    if (timer === null) terminal.step(`Changed: ${shown}`);
    else clearTimeout(timer);
    if (file.endsWith(".ts")) builder.noteEdit();
    if (loaders.test(file)) builder.restart();
    timer = setTimeout(() => {
      timer = null;
      building = building.then(rebuild);
    }, settleMs);
  };
  const folders = [contentDir, join(root, "lib"), join(root, "templates")].filter((dir) => existsSync(dir));
  const watchers = folders.map((folder) => watchFolder(folder, (name) => ownFiles.test(name), onChange));
  await building;
  return {
    address: server.address,
    close() {
      if (timer !== null) clearTimeout(timer);
      for (const watcher of watchers) watcher.close();
      builder.close();
      server.close();
    },
  };
}

/** `npm run dev -- --content DIR`: the site with live reload. */
export async function runDev(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("dev", args, ["content", "out", "port"]);
  const contentDir = options.content ?? "content";
  const outDir = options.out ?? join(contentDir, ".cache", "site");
  const port = readCount("dev", "port", options.port) ?? 8080;
  const { address } = await startDev({ contentDir, outDir, port }, terminal);
  terminal.result(`${sayAddress(outDir)}, or live at ${address} (Ctrl-C ends)`);
}

if (isStarted(import.meta.url)) await runCommand(runDev);
