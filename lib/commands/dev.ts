import { spawn } from "node:child_process";
import { mkdir, watch } from "node:fs/promises";
import { join, resolve } from "node:path";
import { sayAddress } from "./build-content.ts";
import { readCount, readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { type SiteServer, serveSite } from "./serve-site.ts";

const root = resolve(import.meta.dirname, "../..");
/** Editors write a file in several strokes; what comes within this time is one change. */
const settleMs = 150;
/** What a build writes itself must not start the next one. */
const ownFiles = /(^|[\\/])(\.cache|_site|node_modules|\.git|crops|frames)([\\/]|$)|\.part$|\.tmp$|~$/;

/** Builds in a process of its own, so that changed library code is what runs. Resolves with whether it went well. */
function buildApart(contentDir: string, outDir: string): Promise<boolean> {
  const args = [
    "--import",
    "tsx",
    join(root, "lib/commands/build.ts"),
    "--content",
    contentDir,
    "--out",
    outDir,
  ];
  return new Promise((done) => {
    const child = spawn(process.execPath, args, { stdio: ["ignore", "ignore", "inherit"] });
    child.on("exit", (status) => done(status === 0));
    child.on("error", () => done(false));
  });
}

async function watchFolder(folder: string, onChange: (file: string) => void): Promise<void> {
  for await (const { filename } of watch(folder, { recursive: true })) {
    if (filename !== null && !ownFiles.test(filename)) onChange(join(folder, filename));
  }
}

/** `npm run dev -- --content DIR`: the site with live reload on a change of record, prose, template, style or library code. */
export async function runDev(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("dev", args, ["content", "out", "port"]);
  const contentDir = options.content ?? "content";
  const outDir = options.out ?? join(contentDir, ".cache", "site");
  await mkdir(join(contentDir, ".cache"), { recursive: true });
  const rebuild = async (server: SiteServer | null) => {
    const started = performance.now();
    const good = await buildApart(contentDir, outDir);
    terminal.step(
      good ? `Built in ${((performance.now() - started) / 1000).toFixed(1)} s` : "The site stays as it was.",
    );
    if (good) server?.reload();
  };
  await rebuild(null);
  const server = await serveSite(outDir, readCount("dev", "port", options.port) ?? 8080, true);
  terminal.result(`${sayAddress(outDir)}, or live at ${server.address} (Ctrl-C ends)`);

  let timer: NodeJS.Timeout | null = null;
  let building: Promise<void> = Promise.resolve();
  const onChange = (file: string) => {
    if (timer !== null) clearTimeout(timer);
    timer = setTimeout(() => {
      terminal.step(`Changed: ${file}`);
      building = building.then(() => rebuild(server));
    }, settleMs);
  };
  const folders = [contentDir, join(root, "lib"), join(root, "templates")];
  await Promise.all(folders.map((folder) => watchFolder(folder, onChange)));
}

if (isStarted(import.meta.url)) await runCommand(runDev);
