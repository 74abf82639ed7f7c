// The program as JavaScript, made once for each state of its sources: loading it is several times as fast as compiling
// module by module at every start. Plain JavaScript itself, as it is what starts everything else.
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { threadId } from "node:worker_threads";

const root = resolve(import.meta.dirname, "../..");
const commandsDir = import.meta.dirname;
const cacheDir = join(root, "node_modules/.cache/rig-report");
/** Folders whose TypeScript a command may import. */
const sourceDirs = ["lib", "demo/simulator", "templates/script"];
const sourceFiles = ["package.json", "package-lock.json", "demo"];
/** States of the sources whose JavaScript is kept, the latest used first. */
const mostKept = 8;

function listSources() {
  const listed = sourceDirs.flatMap((dir) =>
    readdirSync(join(root, dir), { recursive: true }).map((name) => join(dir, String(name))),
  );
  const single = sourceFiles.flatMap((path) =>
    statSync(join(root, path)).isDirectory()
      ? readdirSync(join(root, path)).map((name) => join(path, name))
      : [path],
  );
  return [...listed, ...single].filter((path) => /\.(m?ts|mjs|json)$/.test(path)).sort();
}

/** Of the sources and of where they lie: what is made holds their addresses, and two copies may share their packages. */
function digestSources() {
  const hash = createHash("sha256").update(`${root}\n`);
  for (const path of listSources()) hash.update(`${path}\n`).update(readFileSync(join(root, path)));
  return hash.digest("hex").slice(0, 20);
}

/** Modules find their neighbours on disk by their own address, which stays that of the source. */
const keepAddresses = {
  name: "keep-addresses",
  setup(build) {
    build.onLoad({ filter: /\.ts$/ }, ({ path }) => ({
      loader: "ts",
      contents: readFileSync(path, "utf8")
        .replaceAll("import.meta.dirname", JSON.stringify(dirname(path)))
        .replaceAll("import.meta.url", JSON.stringify(pathToFileURL(path).href)),
    }));
  },
};

async function compile(folder) {
  const { build } = await import("esbuild");
  const partial = `${folder}.${process.pid}-${threadId}.part`;
  try {
    await build({
      entryPoints: readdirSync(commandsDir)
        .filter((name) => name.endsWith(".ts"))
        .map((name) => join(commandsDir, name)),
      outdir: partial,
      outbase: commandsDir,
      outExtension: { ".js": ".mjs" },
      absWorkingDir: root,
      bundle: true,
      splitting: true,
      packages: "external",
      format: "esm",
      platform: "node",
      target: "node20",
      sourcemap: true,
      logLevel: "error",
      plugins: [keepAddresses],
    });
    renameSync(partial, folder);
  } catch (error) {
    rmSync(partial, { recursive: true, force: true });
    // Another process or thread may have been first.
    if (!existsSync(folder)) throw error;
  }
}

/** Takes away what was made of sources that changed since. */
function dropOld() {
  const made = readdirSync(cacheDir).map((name) => ({ name, at: statSync(join(cacheDir, name)).mtimeMs }));
  for (const { name } of made.sort((a, b) => b.at - a.at).slice(mostKept))
    rmSync(join(cacheDir, name), { recursive: true, force: true });
}

/** Whether what is made can be kept beside the packages. */
export function canKeep() {
  try {
    mkdirSync(cacheDir, { recursive: true });
    return true;
  } catch {
    return false;
  }
}

/**
 * Imports a module of `lib/commands` by its name without ending. Where nothing can be kept beside the packages, it is
 * compiled module by module.
 */
export async function importCommand(name) {
  if (!canKeep()) {
    const { register } = await import("tsx/esm/api");
    register();
    return import(pathToFileURL(join(commandsDir, `${name}.ts`)).href);
  }
  const digest = digestSources();
  const folder = join(cacheDir, digest);
  if (!existsSync(folder)) {
    await compile(folder);
    // Saved over while it was read: the folder's name would not be that of what it holds.
    if (digestSources() !== digest) {
      rmSync(folder, { recursive: true, force: true });
      return importCommand(name);
    }
    dropOld();
  }
  return import(pathToFileURL(join(folder, `${name}.mjs`)).href);
}
