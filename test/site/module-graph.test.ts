import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { build } from "esbuild";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { listValueImports, openModuleGraph } from "../../lib/site/module-graph.ts";

const project = resolve(import.meta.dirname, "../..");
let root: string;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), "rig-report-graph-"));
  write({
    "package-lock.json": "{}",
    "lib/fit.ts":
      'import { sum } from "./sum.ts";\nimport type { Star } from "./star.ts";\nexport const fit = (s: Star) => sum(s);\n',
    "lib/sum.ts": 'export { add as sum } from "./add.ts";\n',
    "lib/add.ts": "export const add = (a: number) => a;\n",
    "lib/star.ts": "export type Star = number;\n",
    "lib/words.ts": 'import { fit } from "./fit.ts";\nexport const words = String(fit);\n',
  });
});
afterEach(() => rmSync(root, { recursive: true, force: true }));

function write(files: Record<string, string>): void {
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(root, path)), { recursive: true });
    writeFileSync(join(root, path), text);
  }
}
const digestFit = () => openModuleGraph(root).digest("lib/fit.ts");

describe("openModuleGraph", () => {
  it("gives a module another digest for a change in itself, in what it imports, two steps away too, and of the packages", () => {
    const before = digestFit();
    const edits = { "lib/fit.ts": "export const fit = 1;\n", "lib/sum.ts": "export const sum = 1;\n" };
    for (const [path, text] of Object.entries({
      ...edits,
      "lib/add.ts": "export {};\n",
      "package-lock.json": "{ }",
    })) {
      const old = readFileSync(join(root, path), "utf8");
      write({ [path]: text });
      expect(digestFit()).not.toBe(before);
      write({ [path]: old });
      expect(digestFit()).toBe(before);
    }
  });

  it("leaves the digest for a change in what imports the module, and in what only types are taken from", () => {
    const before = digestFit();
    write({ "lib/words.ts": "export {};\n", "lib/star.ts": "export type Star = number | string;\n" });
    expect(digestFit()).toBe(before);
  });

  it("goes by one state of the sources: a file edited later does not mix in", () => {
    const graph = openModuleGraph(root);
    const [before, text] = [graph.digest("lib/fit.ts"), graph.read("lib/add.ts")];
    write({ "lib/add.ts": "export const add = 2;\n" });
    expect([graph.digest("lib/fit.ts"), graph.read("lib/add.ts")]).toEqual([before, text]);
  });

  it("comes to an end where two modules import each other", () => {
    write({ "lib/add.ts": 'import { sum } from "./sum.ts";\nexport const add = sum;\n' });
    expect(openModuleGraph(root).list(["lib/sum.ts"])).toEqual(["lib/add.ts", "lib/sum.ts"]);
  });

  it("follows in the whole program just the imports that the compiler follows", async () => {
    const entries = ["lib/commands/build-live.ts", "lib/commands/page-worker.ts", "lib/commands/report.ts"];
    const { metafile } = await build({
      entryPoints: entries,
      absWorkingDir: project,
      outdir: root,
      bundle: true,
      splitting: true,
      packages: "external",
      format: "esm",
      platform: "node",
      write: false,
      metafile: true,
      logLevel: "silent",
    });
    const graph = openModuleGraph();
    for (const [path, { imports }] of Object.entries(metafile.inputs)) {
      const found = listValueImports(graph.read(path)).map((target) => join(dirname(path), target));
      const inner = imports.filter(({ external }) => external !== true).map(({ path: target }) => target);
      // The names of modules in a text that is compiled later look like imports.
      if (path === "lib/commands/bundle-code.ts") continue;
      expect([path, ...new Set(found)].sort()).toEqual([path, ...new Set(inner)].sort());
    }
  });
});

describe("listValueImports", () => {
  it("reads imports over several lines, exports, imports for their effect and those at run time, and no types", () => {
    const text = [
      'import {\n  one,\n  type Two,\n} from "./a.ts";',
      'import "../b.ts";',
      'export * from "./c.ts";',
      'import type { Three } from "./d.ts";',
      'export type { Four } from "./e.ts";',
      'import { readFileSync } from "node:fs";',
      'const late = await import("./f.ts");',
      'export const text = "no import";',
    ].join("\n");
    expect(listValueImports(text)).toEqual(["./a.ts", "../b.ts", "./c.ts", "./f.ts"]);
  });
});
