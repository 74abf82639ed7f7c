import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openContentMemory, recordsReader } from "../../lib/commands/content-memory.ts";
import { learnContent, learnPart } from "../../lib/commands/learn-content.ts";
import { readContent } from "../../lib/records/read-content.ts";
import { openModuleGraph } from "../../lib/site/module-graph.ts";
import { listStarContent, writeOld, writeStarContent } from "./star-content.ts";

let scratch: string;
let contentDir: string;
const graph = openModuleGraph();
const reader = graph.digest(recordsReader);
const later = Date.now() + 60_000;

beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-learn-"));
  contentDir = join(scratch, "content");
  writeStarContent(contentDir, listStarContent({ trains: 110, stars: 2 }));
  writeOld(join(contentDir, "trains/tarn-80-7/train.yaml"), "name: No telescope\n");
  writeOld(join(contentDir, "trains/notes.txt"), "no train\n");
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

const nameSetting = (folder: string) => ({ contentDir, folder: join(scratch, folder), now: later, reader });

describe("learnContent", () => {
  it("has two threads read 110 new trains: 109 are then known, and the one with a fault is told by the reading", async () => {
    const setting = nameSetting("memory");
    const pool = await learnContent(setting, 2);
    expect(pool?.count).toBe(2);
    await pool?.close();
    expect(readdirSync(setting.folder)).toHaveLength(109);
    const memory = openContentMemory(contentDir, setting.folder, later, graph);
    const { content, faults } = await readContent(contentDir, memory);
    const { content: anew, faults: told } = await readContent(contentDir);
    expect(content).toEqual(anew);
    expect(faults).toEqual(told);
    expect(faults.map(({ file }) => file)).toContain(join(contentDir, "trains/tarn-80-7/train.yaml"));
  });

  it("opens no thread where all but the faulty train are known", async () => {
    expect(await learnContent(nameSetting("memory"), 2)).toBeNull();
  });
});

describe("learnPart", () => {
  it("finds the digests that a reading in place finds, and passes over a name that is no train", async () => {
    const trains = ["tarn-80-1", "notes.txt"];
    await learnPart({ ...nameSetting("part"), trains });
    expect(readdirSync(join(scratch, "part"))).toEqual(["tarn-80-1.json"]);
    const learnt = openContentMemory(contentDir, join(scratch, "part"), later, graph);
    const anew = openContentMemory(contentDir, join(scratch, "none"), later, graph);
    const tests = learnt.find("tarn-80-1")?.tests ?? [];
    expect(tests.length).toBeGreaterThan(0);
    expect(learnt.digest("tarn-80-1", tests)).toEqual(anew.digest("tarn-80-1", tests));
  });
});
