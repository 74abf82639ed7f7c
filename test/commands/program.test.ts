import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildFolder } from "../../lib/commands/build-folder.ts";
import { compareFolders } from "../../lib/commands/compare-folders.ts";
import { listStarContent, writeStarContent } from "./star-content.ts";

const root = resolve(import.meta.dirname, "../..");
const start = join(root, "lib/commands/start.mjs");
let scratch: string;

beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-program-"));
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

function run(...args: string[]) {
  return spawnSync(process.execPath, [start, ...args], { cwd: root, encoding: "utf8" });
}

describe("start.mjs, which the npm scripts run", () => {
  it("names every command that package.json runs with it", () => {
    const { scripts } = JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as {
      scripts: Record<string, string>;
    };
    const started = Object.values(scripts).flatMap((line) => /start\.mjs ([a-z-]+)$/.exec(line)?.[1] ?? []);
    expect(started).toEqual(expect.arrayContaining(["build", "dev", "measure", "new", "report", "verify"]));
    for (const name of started)
      expect(readFileSync(join(root, "lib/commands", `${name}.ts`), "utf8")).not.toBe("");
  });

  it("builds from the program as put together the very site that its modules build one by one", async () => {
    const content = join(scratch, "content");
    writeStarContent(content, listStarContent({ trains: 1, stars: 25 }));
    const out = join(scratch, "started");
    const { status, stdout, stderr } = run("build", "--content", content, "--out", out);
    expect(stderr).not.toMatch(/error/i);
    expect(status).toBe(0);
    expect(stdout).toMatch(/^The site is in /);
    rmSync(join(content, ".cache"), { recursive: true });
    const plain = join(scratch, "plain");
    await buildFolder(content, plain, () => {}, { threads: 1 });
    expect(await compareFolders(out, plain)).toEqual([]);
  });

  it("says that a command is unknown, and ends with the status of one that fails", () => {
    const unknown = run("../../etc");
    expect([unknown.status, unknown.stderr]).toEqual([
      1,
      'no command "../../etc"; package.json lists what npm can run\n',
    ]);
    const failed = run("build", "--content", join(scratch, "nowhere"), "--out", join(scratch, "none"));
    expect(failed.status).toBe(1);
    expect(failed.stderr).not.toMatch(/\n\s+at /);
  });
});
