import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { makeBuildKeys } from "../../lib/commands/build-keys.ts";
import { type CodeDigests, listCodeDigests } from "../../lib/commands/code-digests.ts";
import { openContentMemory } from "../../lib/commands/content-memory.ts";
import { read } from "../../lib/pipeline.ts";
import type { Comparison } from "../../lib/report/results.ts";
import { openModuleGraph } from "../../lib/site/module-graph.ts";
import { listStarContent, writeOld, writeStarContent } from "./star-content.ts";

let scratch: string;
let content: string;
const files = listStarContent({ trains: 3, stars: 25 });

beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-keys-"));
  content = join(scratch, "content");
  writeStarContent(content, files);
  writeOld(
    join(content, "comparisons/first-two.yaml"),
    "name: Two of three\na: { train: tarn-80-0 }\nb: { train: tarn-80-1 }\n",
  );
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

async function nameAll(changed: Partial<CodeDigests> = {}) {
  const graph = openModuleGraph();
  const folder = join(scratch, `memory-${Math.trunc(performance.now())}`);
  const memory = openContentMemory(content, folder, 0, graph);
  const codes = { ...listCodeDigests(graph), ...changed };
  const keys = makeBuildKeys(await read(content), memory, "rig-report 1", codes);
  // What a comparison says stands here for itself by the digest of what it is made from.
  const said = keys.comparisons.map(({ key, trains: [one, other] }): Comparison => {
    return { ...({} as Comparison), id: key, a: { train: one, test: "" }, b: { train: other, test: "" } };
  });
  const page = (id: string) => keys.namePage(id, "code", said);
  return { ...keys, comparison: keys.comparisons[0].key, page };
}

describe("makeBuildKeys", () => {
  it("makes the page of a train anew for its prose alone: no analysis, no comparison, no other train's page", async () => {
    const before = await nameAll();
    writeOld(join(content, "trains/tarn-80-0/review.md"), "Another evening, another word.\n");
    const after = await nameAll();
    expect(after.page("tarn-80-0")).not.toBe(before.page("tarn-80-0"));
    expect(after.trains.get("tarn-80-0")?.analysis).toBe(before.trains.get("tarn-80-0")?.analysis);
    expect(after.comparison).toBe(before.comparison);
    expect(after.page("tarn-80-1")).toBe(before.page("tarn-80-1"));
  });

  it("takes a changed number of a record into the analysis, the comparison and the pages of both its trains, not the third's", async () => {
    const before = await nameAll();
    const record = files.get("trains/tarn-80-0/train.yaml") ?? "";
    writeOld(
      join(content, "trains/tarn-80-0/train.yaml"),
      record.replace("focalLengthMm: 400", "focalLengthMm: 402"),
    );
    const after = await nameAll();
    expect(after.trains.get("tarn-80-0")?.analysis).not.toBe(before.trains.get("tarn-80-0")?.analysis);
    expect(after.comparison).not.toBe(before.comparison);
    for (const id of ["tarn-80-0", "tarn-80-1"]) expect(after.page(id)).not.toBe(before.page(id));
    expect(after.page("tarn-80-2")).toBe(before.page("tarn-80-2"));
  });

  it("analyses no test anew for other code of the results, and makes these and the comparisons that hold them anew", async () => {
    const before = await nameAll();
    const after = await nameAll({ results: "other code" });
    const [old, own] = [before, after].map(({ trains }) => trains.get("tarn-80-0"));
    expect(own?.analysis).toBe(old?.analysis);
    expect(own?.results).not.toBe(old?.results);
    expect(after.comparison).not.toBe(before.comparison);
  });

  it("compares anew for other code of the comparisons, and leaves tests and results", async () => {
    const before = await nameAll();
    const after = await nameAll({ comparisons: "other code" });
    const [old, own] = [before, after].map(({ trains }) => trains.get("tarn-80-0"));
    expect([own?.analysis, own?.results]).toEqual([old?.analysis, old?.results]);
    expect(after.comparison).not.toBe(before.comparison);
  });
});
