import type { ModuleGraph } from "../site/module-graph.ts";

/** Modules whose long computations are remembered by themselves: what `remember` names, without folder and ending. */
const longModules = [
  "colour/measure-colour",
  "compare/match-stars",
  "compare/measure-scale",
  "compare/read-side",
  "field/fit-field",
  "field/measure-field",
  "field/sweep",
  "stars/combine-frames",
];

/** The same of short ones, which `recall` names. */
const shortModules = [
  "compare/compare-tests",
  "draw/list-figures",
  "field/field-results",
  "report/light-stage",
  "report/make-test-results",
  "report/night-stage",
];

export const rememberedModules = [...longModules, ...shortModules];

/** What code each stage of a build is made by: equal digests, equal results from equal inputs. */
export interface CodeDigests {
  /** Of stored measurements, from text. */
  decoder: string;
  tests: string;
  results: string;
  comparisons: string;
  /** Of all long computations: where it is the same as before, none is to be done anew for the code's sake. */
  fits: string;
  /** By the module's name, as in `rememberedModules`. */
  remembered: Readonly<Record<string, string>>;
}

/** Each stage goes by the modules that it runs and by no other: a page's wording is no reason to fit a field again. */
export function listCodeDigests(graph: ModuleGraph): CodeDigests {
  const join = (...paths: string[]) => paths.map((path) => graph.digest(path)).join(" ");
  return {
    decoder: join("lib/measured/decode-measurement.ts"),
    tests: join("lib/measured/decode-measurement.ts", "lib/report/make-all-test-results.ts"),
    results: join("lib/report/make-train-results.ts"),
    comparisons: join("lib/compare/matched-codec.ts", "lib/report/make-comparisons.ts"),
    fits: join(...longModules.map((name) => `lib/${name}.ts`)),
    remembered: Object.fromEntries(rememberedModules.map((name) => [name, graph.digest(`lib/${name}.ts`)])),
  };
}
