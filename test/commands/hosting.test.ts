import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";
import { readOptions, readShard } from "../../lib/commands/options.ts";

const docs = resolve(import.meta.dirname, "../../docs");
const { scripts } = JSON.parse(readFileSync(join(docs, "../package.json"), "utf8")) as {
  scripts: Record<string, string>;
};
const workflows = readdirSync(join(docs, "hosting"));

interface Workflow {
  jobs: Record<
    string,
    { strategy?: { matrix: { share: number[] } }; steps: { run?: string; uses?: string }[] }
  >;
}

describe("the workflow files of docs/hosting", () => {
  it("run commands that there are, with options that they take", () => {
    let commands = 0;
    for (const name of workflows) {
      const { jobs } = parse(readFileSync(join(docs, "hosting", name), "utf8")) as Workflow;
      for (const { run } of Object.values(jobs).flatMap(({ steps }) => steps)) {
        const match = /^npm run (\w+) -- (.*)$/.exec(run ?? "");
        if (match === null) continue;
        const [, command, options] = match;
        expect(Object.keys(scripts)).toContain(command);
        const known =
          command === "measure" ? (["content", "frames", "shard"] as const) : (["content", "out"] as const);
        expect(() =>
          readOptions(command, options.replace(/\$\{\{[^}]*\}\}/, "1").split(" "), known),
        ).not.toThrow();
        commands++;
      }
    }
    expect(commands).toBe(2);
  });

  it("measure every share of the matrix once, out of as many as it has", () => {
    const { jobs } = parse(readFileSync(join(docs, "hosting/measure-shards.yml"), "utf8")) as Workflow;
    const shares = jobs["measure"].strategy?.matrix.share ?? [];
    const run =
      jobs["measure"].steps.map((step) => step.run ?? "").find((line) => line.includes("--shard")) ?? "";
    const texts = shares.map((share) =>
      run.replace(/.*--shard /, "").replace(/\$\{\{[^}]*\}\}/, String(share)),
    );
    expect(texts.map((text) => readShard("measure", text))).toEqual(
      shares.map((_, k) => ({ index: k + 1, count: shares.length })),
    );
  });
});
