import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join, posix, resolve } from "node:path";

const projectDir = resolve(import.meta.dirname, "../..");

/** Modules of the project as they stood when each was first looked at; paths from the project's folder, with slashes. */
export interface ModuleGraph {
  read: (path: string) => string;
  /** The modules with all that they import, through others too, sorted. What only types are taken from has no part. */
  list: (paths: readonly string[]) => string[];
  /** Equal: the module and all that it imports are the same, and so are the packages' versions. */
  digest: (path: string) => string;
}

/**
 * Modules that read sources as text when they run: these change what they give as much as what they import. Everything
 * else that code reads from the project goes into keys by its own digest.
 */
const readsFolder: Record<string, string> = { "templates/script/bundle.ts": "templates/script" };

/** Import and export statements as the project's formatter writes them; a text that looks like one does no harm. */
const statement = /^\s*(?:import|export)\s+(type\s+)?(?:[^"';]*?\sfrom\s+)?"(\.{1,2}\/[^"]+)"/gm;
const dynamic = /\bimport\(\s*"(\.{1,2}\/[^"]+)"/g;

/** Relative addresses of what a module takes values from. */
export function listValueImports(text: string): string[] {
  const fixed = [...text.matchAll(statement)].flatMap(([, type, target]) => (type ? [] : [target]));
  return [...fixed, ...[...text.matchAll(dynamic)].map(([, target]) => target)];
}

function hash(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}

/** Every file is read at most once, so that what is asked of one graph is of one state of the sources. */
export function openModuleGraph(root = projectDir): ModuleGraph {
  const modules = new Map<string, { text: string; own: string; imports: string[] }>();
  const digests = new Map<string, string>();
  const packages = hash(readFileSync(join(root, "package-lock.json"), "utf8"));

  const open = (path: string) => {
    const known = modules.get(path);
    if (known !== undefined) return known;
    const text = readFileSync(join(root, path), "utf8");
    const targets = listValueImports(text).map((target) => posix.join(posix.dirname(path), target));
    const folder = readsFolder[path];
    if (folder !== undefined)
      targets.push(...readdirSync(join(root, folder)).map((name) => `${folder}/${name}`));
    const imports = [...new Set(targets)].filter((target) => existsSync(join(root, target)));
    const module = { text, own: hash(text), imports };
    modules.set(path, module);
    return module;
  };

  const list = (paths: readonly string[]): string[] => {
    const found = new Set<string>(paths);
    for (const path of found) for (const target of open(path).imports) found.add(target);
    return [...found].sort();
  };

  return {
    read: (path) => open(path).text,
    list,
    digest(path) {
      let digest = digests.get(path);
      if (digest === undefined) {
        const parts = list([path]).map((part) => `${part} ${open(part).own}\n`);
        digest = hash(`${path}\n${packages}\n${parts.join("")}`);
        digests.set(path, digest);
      }
      return digest;
    },
  };
}
