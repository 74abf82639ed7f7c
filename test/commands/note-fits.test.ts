import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildFolder } from "../../lib/commands/build-folder.ts";
import { compareFolders } from "../../lib/commands/compare-folders.ts";
import { noteFits } from "../../lib/commands/note-fits.ts";
import { listStarContent, writeStarContent } from "./star-content.ts";

let scratch: string;
beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-fits-"));
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

describe("noteFits", () => {
  it("knows a store again for the code that it noted, and for no other", () => {
    const dir = join(scratch, "store");
    expect(noteFits(dir, "code 1").known).toBe(false);
    noteFits(dir, "code 1").note();
    expect([noteFits(dir, "code 1").known, noteFits(dir, "code 2").known]).toEqual([true, false]);
  });

  it("has one train's three tests fitted on two threads first, and gives the bytes of one thread", async () => {
    const files = listStarContent({ trains: 1, tests: 3, stars: 60 });
    const build = async (name: string, threads: number) => {
      const content = join(scratch, name);
      writeStarContent(content, files);
      await buildFolder(content, join(scratch, `${name}-site`), () => {}, { threads });
      return join(scratch, `${name}-site`);
    };
    const [two, one] = [await build("two", 2), await build("one", 1)];
    expect(await compareFolders(two, one)).toEqual([]);
  });
});
