import { existsSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildLive } from "../../lib/commands/build-live.ts";
import { compareFolders } from "../../lib/commands/compare-folders.ts";
import { rehearseLive } from "../../lib/commands/rehearse-live.ts";
import { openResidentMemory, useResidentMemory } from "../../lib/commands/resident-memory.ts";
import { openModuleGraph } from "../../lib/site/module-graph.ts";
import { listStarContent, writeOld, writeStarContent } from "./star-content.ts";

let scratch: string;
let contentDir: string;
const files = listStarContent({ trains: 2, stars: 200 });

beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-rehearse-"));
  contentDir = join(scratch, "content");
  writeStarContent(contentDir, files);
});
afterAll(() => {
  useResidentMemory(null);
  rmSync(scratch, { recursive: true, force: true });
});

function openSetting() {
  const kept = openResidentMemory(1e9);
  const names = new Set<string>();
  const resident: typeof kept = {
    find: kept.find,
    keep(name, value, bytes) {
      names.add(name);
      kept.keep(name, value, bytes);
    },
  };
  return { setting: { graph: openModuleGraph(), resident }, names };
}

describe("rehearseLive", () => {
  it("has at hand what the store holds, leaves no page, and changes no byte of what is built after an edit", async () => {
    const outDir = join(scratch, "site");
    expect((await buildLive({ contentDir, outDir }, openSetting().setting)).faults).toBeNull();
    // Another process, to which only the files are known.
    const { setting, names } = openSetting();
    await buildLive({ contentDir, outDir }, setting);
    const before = names.size;
    useResidentMemory(setting.resident);
    await rehearseLive({ contentDir, outDir }, setting, () => true);
    expect(names.size).toBeGreaterThan(before);
    expect(readdirSync(join(contentDir, ".cache/built"))).not.toContain("rehearsal");
    const record = "trains/tarn-80-1/train.yaml";
    writeOld(
      join(contentDir, record),
      (files.get(record) ?? "").replace("focalLengthMm: 400", "focalLengthMm: 402"),
    );
    await buildLive({ contentDir, outDir }, setting);
    useResidentMemory(null);
    rmSync(join(contentDir, ".cache"), { recursive: true });
    const fresh = join(scratch, "fresh");
    await buildLive({ contentDir, outDir: fresh });
    expect(await compareFolders(outDir, fresh)).toEqual([]);
  });

  it("stops before the next train where an edit came", async () => {
    const { setting } = openSetting();
    const ended = rehearseLive({ contentDir, outDir: join(scratch, "none") }, setting, () => false);
    await expect(ended).rejects.toThrow(/called off/);
    expect(existsSync(join(scratch, "none"))).toBe(false);
  });
});
