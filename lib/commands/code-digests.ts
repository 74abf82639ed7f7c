import type { ModuleGraph } from "../site/module-graph.ts";

/** Modules whose long computations are remembered by themselves: what `remember` names, without folder and ending. */
export const rememberedModules = [
  "colour/measure-colour",
  "compare/match-stars",
  "compare/measure-scale",
  "compare/read-side",
  "field/fit-field",
  "field/measure-field",
  "field/sweep",
  "stars/combine-frames",
] as const;

/** What code each stage of a build is made by: equal digests, equal results from equal inputs. */
export interface CodeDigests {
  tests: string;
  results: string;
  comparisons: string;
  /** By the module's name, as in `rememberedModules`. */
  remembered: Readonly<Record<string, string>>;
}

/** Each stage goes by the modules that it runs and by no other: a page's wording is no reason to fit a field again. */
export function listCodeDigests(graph: ModuleGraph): CodeDigests {
  const join = (...paths: string[]) => paths.map((path) => graph.digest(path)).join(" ");
  return {
    tests: join("lib/measured/decode-measurement.ts", "lib/report/make-test-results.ts"),
    results: join("lib/report/make-train-results.ts"),
    comparisons: join("lib/compare/matched-codec.ts", "lib/report/make-comparisons.ts"),
    remembered: Object.fromEntries(rememberedModules.map((name) => [name, graph.digest(`lib/${name}.ts`)])),
  };
}
