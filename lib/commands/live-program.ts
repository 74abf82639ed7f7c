import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { basename, dirname, join, posix, relative, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { type BuildOptions, build, type Plugin } from "esbuild";
import { type ModuleGraph, openModuleGraph } from "../site/module-graph.ts";
import type { LiveProgram } from "./build-live.ts";
import type { ResidentMemory } from "./resident-memory.ts";

type LiveModule = Pick<typeof import("./build-live.ts"), "buildLive" | "rehearseLive">;

const root = resolve(import.meta.dirname, "../..");
const entry = "lib/commands/build-live.ts";
/** Modules kept from earlier states of the sources, the latest made first (chosen: eight programs, some 20 MB). */
const mostKept = 4000;

/** Where modules lie as JavaScript; beside the packages, as they import these by name. */
export const modulesDir = join(root, "node_modules/.cache/rig-report-modules");

const toPath = (file: string) => relative(root, file).replaceAll("\\", "/");

/** Modules find their neighbours on disk by their own address, which stays that of the source. */
function keepAddress(text: string, file: string): string {
  return text
    .replace(/\bimport\.meta\.dirname\b/g, JSON.stringify(dirname(file)))
    .replace(/\bimport\.meta\.url\b/g, JSON.stringify(pathToFileURL(file).href));
}

const common: BuildOptions = {
  absWorkingDir: root,
  bundle: true,
  packages: "external",
  format: "esm",
  platform: "node",
  target: "node20",
  write: false,
  logLevel: "silent",
};

/** A module's JavaScript imports its neighbours by their names in the folder. */
function linkModules(graph: ModuleGraph, names: ReadonlyMap<string, string>): Plugin {
  return {
    name: "link-modules",
    setup({ onLoad, onResolve }) {
      onResolve({ filter: /^\.{1,2}\// }, ({ path, importer }) => {
        const name = names.get(posix.join(posix.dirname(toPath(importer)), path));
        if (name === undefined) return { errors: [{ text: `Could not resolve "${path}"` }] };
        return { path: `./${name}`, external: true };
      });
      onLoad({ filter: /\.ts$/ }, ({ path }) => {
        return { loader: "ts", contents: keepAddress(graph.read(toPath(path)), path) };
      });
    },
  };
}

/** Of the sources and of where they lie: what is made holds their addresses, and two copies may share their packages. */
export function nameModule(path: string, digest: string, project = root): string {
  const name = createHash("sha256").update(`${project}\n${digest}`).digest("hex").slice(0, 24);
  return `${name}-${basename(path, ".ts")}.mjs`;
}

/**
 * Makes JavaScript of all modules that are not there yet, a file each. Its name holds the digest of the module and of all
 * that it imports: after an edit the modules that can tell of it have other names, all others are the ones loaded before.
 */
async function translate(graph: ModuleGraph, paths: readonly string[]): Promise<ReadonlyMap<string, string>> {
  mkdirSync(modulesDir, { recursive: true });
  const names = new Map(paths.map((path) => [path, nameModule(path, graph.digest(path))]));
  const missing = [...names].filter(([, name]) => !existsSync(join(modulesDir, name)));
  if (missing.length === 0) return names;
  const { outputFiles = [] } = await build({
    ...common,
    entryPoints: missing.map(([path], k) => ({ in: join(root, path), out: String(k) })),
    outdir: modulesDir,
    plugins: [linkModules(graph, names)],
  });
  for (const { path, contents } of outputFiles) {
    const file = join(modulesDir, missing[Number(basename(path, ".js"))][1]);
    writeFileSync(`${file}.${process.pid}.part`, contents);
    renameSync(`${file}.${process.pid}.part`, file);
  }
  return names;
}

/** Takes away modules of states of the sources that are long gone; one that is missed is made again. */
export function dropOldModules(): void {
  if (!existsSync(modulesDir)) return;
  const made = readdirSync(modulesDir).map((name) => {
    const file = join(modulesDir, name);
    return { file, at: statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0 };
  });
  for (const { file } of made.sort((a, b) => b.at - a.at).slice(mostKept)) rmSync(file, { force: true });
}

/**
 * The program that builds for the live view, as its sources stand now. Modules that neither changed nor import one that
 * did are those of the program before, with what they remember and what the engine has learned of them.
 */
export async function loadLiveProgram(resident: ResidentMemory): Promise<LiveProgram> {
  const graph = openModuleGraph();
  const names = await translate(graph, graph.list([entry]));
  try {
    const address = pathToFileURL(join(modulesDir, names.get(entry) as string)).href;
    const { buildLive, rehearseLive } = (await import(address)) as LiveModule;
    const setting = { graph, resident };
    return {
      build: (request) => buildLive(request, setting),
      rehearse: (request, isWanted) => rehearseLive(request, setting, isWanted),
    };
  } catch (error) {
    // What is wrong between two modules, such as a name that is no longer exported, the compiler tells with its place.
    await build({ ...common, entryPoints: [join(root, entry)], outdir: modulesDir });
    throw error;
  }
}
