import { cpSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { DevProcess } from "../../lib/commands/dev-process.ts";
import { listStarContent, writeStarContent } from "./star-content.ts";

const root = resolve(import.meta.dirname, "../..");
let scratch: string;
let project: string;
let builder: DevProcess;

/** A copy of the program to be edited, with the packages of this one. */
beforeAll(async () => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-dev-process-"));
  project = join(scratch, "project");
  for (const name of ["lib", "templates", "package.json", "package-lock.json"])
    cpSync(join(root, name), join(project, name), { recursive: true });
  cpSync(join(root, "demo"), join(project, "demo"), {
    recursive: true,
    filter: (path) => !/[\\/]demo[\\/](frames|content)$/.test(path),
  });
  symlinkSync(join(root, "node_modules"), join(project, "node_modules"));
  writeStarContent(join(scratch, "content"), listStarContent({ trains: 1, stars: 25 }));
  const address = pathToFileURL(join(project, "lib/commands/dev-process.ts")).href;
  const { openDevProcess } = (await import(/* @vite-ignore */ address)) as {
    openDevProcess: () => DevProcess;
  };
  builder = openDevProcess();
});
afterAll(() => {
  builder?.close();
  rmSync(scratch, { recursive: true, force: true });
});

const build = () => {
  builder.noteEdit();
  return builder.build({ contentDir: join(scratch, "content"), outDir: join(scratch, "site") });
};
const readIndex = () => readFileSync(join(scratch, "site/index.html"), "utf8");

describe("openDevProcess", () => {
  it("runs the program as it stands at each build, and names the place where it cannot be loaded", async () => {
    expect(await build()).toMatchObject({ faults: null });
    expect(readIndex()).toContain("<body");
    const file = join(project, "lib/site/index-page.ts");
    const source = readFileSync(file, "utf8");
    const lines = source.split("\n").length;
    writeFileSync(file, `${source}const broken = ;\n`);
    const { faults } = await build();
    expect(faults).toContain(`index-page.ts:${lines}:`);
    expect(faults).toMatch(/found +Unexpected ";"/);
    expect(readIndex()).toContain("<body");
    const changed = source.replace("title: nameSite(site)", 'title: "Edited " + nameSite(site)');
    expect(changed).not.toBe(source);
    writeFileSync(file, changed);
    expect(await build()).toMatchObject({ faults: null });
    expect(readIndex()).toMatch(/<h1[^>]*>Edited /);
  });
});
