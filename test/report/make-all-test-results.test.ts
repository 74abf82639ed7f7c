import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { useMemory } from "../../lib/maths/remember.ts";
import { read } from "../../lib/pipeline.ts";
import type { TestEntry, TrainEntry } from "../../lib/records/types.ts";
import { makeAllTestResults } from "../../lib/report/make-all-test-results.ts";
import { listStarContent, writeStarContent } from "../commands/star-content.ts";

let scratch: string;
let train: TrainEntry;

beforeAll(async () => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-tests-"));
  writeStarContent(join(scratch, "content"), listStarContent({ trains: 1, stars: 200 }));
  [train] = (await read(join(scratch, "content"))).trains;
});
afterEach(() => useMemory(null));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** A memory that keeps all, and the names of what was computed since it was last asked. */
function openMemory(): { list: () => string[] } {
  const kept = new Map<string, unknown>();
  let names: string[] = [];
  useMemory({
    keepsShort: true,
    find: (_, key) => structuredClone(kept.get(key)),
    keep(name, key, value) {
      kept.set(key, structuredClone(value));
      names.push(name);
    },
  });
  return {
    list() {
      const listed = names;
      names = [];
      return listed;
    },
  };
}
const analyse = (entry: TrainEntry) => makeAllTestResults(entry, () => null);
const changeFirst = (change: (test: TestEntry) => TestEntry["record"]): TrainEntry => {
  const [first, ...rest] = train.tests;
  return { ...train, tests: [{ ...first, record: change(first) }, ...rest] };
};

describe("makeAllTestResults", () => {
  it("computes nothing anew for another name of the train and another note, and shows the note", () => {
    const memory = openMemory();
    analyse(train);
    expect(memory.list().length).toBeGreaterThan(0);
    const noted = changeFirst(({ record }) => ({ ...record, notes: "A steadier night." }));
    const [test] = analyse({ ...noted, record: { ...noted.record, name: "Another name" } });
    expect(memory.list()).toEqual([]);
    expect(test.record.notesMarkdown).toBe("A steadier night.");
  });

  it("computes the stages of the one test anew whose altitude changed, and gives what it gives without a memory", () => {
    const memory = openMemory();
    analyse(train);
    memory.list();
    const moved = changeFirst(({ record }) => ({ ...record, altitudeDeg: 41 }));
    const found = analyse(moved);
    expect(memory.list().filter((name) => name.endsWith("#stage"))).toHaveLength(1);
    useMemory(null);
    expect(found).toEqual(analyse(moved));
  });
});
