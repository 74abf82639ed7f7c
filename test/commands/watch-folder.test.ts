import { mkdirSync, mkdtempSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { watchFolder } from "../../lib/commands/watch-folder.ts";

let root: string;
let seen: string[];
let watching: { close: () => void };
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), "rig-report-watch-"));
  mkdirSync(join(root, "trains/one"), { recursive: true });
  mkdirSync(join(root, ".cache"));
  writeFileSync(join(root, "trains/one/train.yaml"), "name: one\n");
  seen = [];
  watching = watchFolder(
    root,
    (name) => name === ".cache" || name.endsWith(".part"),
    (file) => seen.push(relative(root, file).replaceAll("\\", "/")),
  );
});
afterEach(() => {
  watching.close();
  rmSync(root, { recursive: true, force: true });
});

/** Waits up to two seconds for news of a file; what was seen before does not count. */
async function awaitNews(file: string): Promise<boolean> {
  for (let k = 0; k < 200; k++) {
    if (seen.includes(file)) {
      seen.length = 0;
      return true;
    }
    await new Promise((done) => setTimeout(done, 10));
  }
  return false;
}

describe("watchFolder", () => {
  it("tells of a file written over, and twice of one put in its place under its name, as editors save", async () => {
    writeFileSync(join(root, "trains/one/train.yaml"), "name: two\n");
    expect(await awaitNews("trains/one/train.yaml")).toBe(true);
    for (const name of ["three", "four"]) {
      await new Promise((done) => setTimeout(done, 50));
      seen.length = 0;
      writeFileSync(join(root, "trains/one/train.yaml.part"), `name: ${name}\n`);
      renameSync(join(root, "trains/one/train.yaml.part"), join(root, "trains/one/train.yaml"));
      expect(await awaitNews("trains/one/train.yaml")).toBe(true);
    }
  });

  it("tells of files in folders that come later, and in one that went and came again", async () => {
    const dir = join(root, "trains/two");
    for (let k = 0; k < 2; k++) {
      mkdirSync(dir);
      expect(await awaitNews("trains/two")).toBe(true);
      writeFileSync(join(dir, "review.md"), "A word.\n");
      expect(await awaitNews("trains/two/review.md")).toBe(true);
      rmSync(dir, { recursive: true });
      expect(await awaitNews("trains/two")).toBe(true);
    }
  });

  it("stands folders that come and go by the hundred, and says nothing of those left out", async () => {
    for (let k = 0; k < 300; k++) {
      mkdirSync(join(root, `trains/passing-${k}/inner`), { recursive: true });
      mkdirSync(join(root, `.cache/built-${k}`));
      if (k % 3 === 0) await new Promise((done) => setImmediate(done));
      rmSync(join(root, `trains/passing-${k}`), { recursive: true });
    }
    writeFileSync(join(root, "site.yaml"), "title: Club\n");
    expect(await awaitNews("site.yaml")).toBe(true);
    expect(seen.filter((file) => file.startsWith(".cache"))).toEqual([]);
  });
});
