import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { listCodeDigests, rememberedModules } from "../../lib/commands/code-digests.ts";
import { openModuleGraph } from "../../lib/site/module-graph.ts";

const lib = resolve(import.meta.dirname, "../../lib");

/** Every computation that is remembered, by the name under which it is, and the function that computes. */
function listRemembered(): { name: string; compute: string }[] {
  const call = /\b(?:remember|recall)\(\s*"([^"]+)",\s*(\w+)/g;
  return readdirSync(lib, { recursive: true })
    .map(String)
    .filter((file) => file.endsWith(".ts"))
    .flatMap((file) => [...readFileSync(join(lib, file), "utf8").matchAll(call)])
    .map(([, name, compute]) => ({ name, compute }));
}

describe("rememberedModules", () => {
  it("names the modules of all computations that are remembered, and these hold the functions that compute", () => {
    const found = listRemembered();
    expect([...new Set(found.map(({ name }) => name.split("#")[0]))].sort()).toEqual(
      [...rememberedModules].sort(),
    );
    for (const { name, compute } of found) {
      const text = readFileSync(join(lib, `${name.split("#")[0]}.ts`), "utf8");
      expect(text).toMatch(new RegExp(`function ${compute}\\b`));
    }
    const pairs = new Set(found.map(({ name, compute }) => `${name} ${compute}`));
    expect(new Set(found.map(({ name }) => name)).size).toBe(pairs.size);
  });
});

describe("listCodeDigests", () => {
  it("fits no field anew for the wording of a diagnosis, and analyses tests anew for it", () => {
    const graph = openModuleGraph();
    const edited = {
      ...graph,
      digest: (path: string) =>
        graph.list([path]).includes("lib/field/describe-diagnosis.ts") ? "edited" : graph.digest(path),
    };
    const [before, after] = [graph, edited].map(listCodeDigests);
    expect(after.tests).not.toBe(before.tests);
    expect(after.fits).toBe(before.fits);
    for (const name of ["field/fit-field", "field/sweep", "field/measure-field", "compare/read-side"])
      expect(after.remembered[name]).toBe(before.remembered[name]);
  });
});
