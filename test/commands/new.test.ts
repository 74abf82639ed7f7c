import { execFile } from "node:child_process";
import { mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { promisify } from "node:util";
import { describe, expect, it } from "vitest";
import { runNew } from "../../lib/commands/new.ts";
import { writeSchemas } from "../../lib/commands/write-schemas.ts";
import { ReportError } from "../../lib/fault.ts";
import { readContent } from "../../lib/records/read-content.ts";
import { makeContent } from "../records/content-folder.ts";

const run = promisify(execFile);
const root = resolve(import.meta.dirname, "../..");

async function findFault(args: string[]) {
  const error = await runNew(args).catch((reason: unknown) => reason);
  if (!(error instanceof ReportError)) throw new Error(`no fault: ${String(error)}`);
  return error.faults[0];
}

describe("npm run new", () => {
  it("writes a train, a test, the site's record and the schemas, which read without a fault", async () => {
    const dir = await makeContent({});
    const lines = await runNew(["train", "Tarnlight 115 / R79", "--content", dir]);
    expect(lines[0]).toContain("tarnlight-115-r79");
    expect(lines.at(-1)).toContain(join(dir, "trains/tarnlight-115-r79/train.yaml"));
    await runNew(["test", "tarnlight-115-r79", "2026-10-03", "--content", dir]);
    await runNew(["test", "tarnlight-115-r79", "2026-10-03-b", "--content", dir]);
    const { content, faults } = await readContent(dir);
    expect(faults).toEqual([]);
    expect(content.trains[0].record.name).toBe("Tarnlight 115 / R79");
    expect(content.trains[0].tests.map(({ id }) => id)).toEqual(["2026-10-03", "2026-10-03-b"]);
    expect(content.siteSource?.file).toBe("site.yaml");
    for (const { dir: folder, source } of [content.trains[0], ...content.trains[0].tests]) {
      const schema = /\$schema=(\S+)/.exec(source.text)?.[1] ?? "";
      expect(JSON.parse(await readFile(join(folder, schema), "utf8"))).toHaveProperty("title");
    }
  });

  it("never overwrites: a record that is there stays byte for byte, and no part of a file is left behind", async () => {
    const dir = await makeContent({ "site.yaml": "title: Mine\n", "trains/tarn/train.yaml": "name: Mine\n" });
    expect((await findFault(["train", "Tarn", "--content", dir])).code).toBe("new/exists");
    expect(await readFile(join(dir, "trains/tarn/train.yaml"), "utf8")).toBe("name: Mine\n");
    await runNew(["test", "tarn", "2026-10-03", "--content", dir]);
    const test = join(dir, "trains/tarn/tests/2026-10-03/test.yaml");
    await writeFile(test, "mine\n");
    expect((await findFault(["test", "tarn", "2026-10-03", "--content", dir])).fix).toContain("2026-10-03-b");
    expect(await readFile(test, "utf8")).toBe("mine\n");
    expect(await readFile(join(dir, "site.yaml"), "utf8")).toBe("title: Mine\n");
    const names = await readdir(dir, { recursive: true });
    expect(names.filter((name) => name.endsWith(".part"))).toEqual([]);
  });

  it("takes a folder whose letters differ only in case for the same train", async () => {
    const dir = await makeContent({ "trains/TARN/train.yaml": "name: Mine\n" });
    expect((await findFault(["train", "tarn", "--content", dir])).file).toContain("TARN");
  });

  it("writes into a folder that has frames but no record yet", async () => {
    const dir = await makeContent({});
    await mkdir(join(dir, "trains/tarn/tests/2026-10-03/frames"), { recursive: true });
    await runNew(["train", "tarn", "--content", dir]);
    await runNew(["test", "tarn", "2026-10-03", "--content", dir]);
    expect((await readContent(dir)).faults).toEqual([]);
  });

  it.each([
    [["train", "../../outside"], "outside"],
    [["train", "<script>alert(1)</script>"], "script-alert-1-script"],
    [["train", "x".repeat(300)], "x".repeat(64)],
    [["train", "a\u001b[2Jb"], "a-2jb"],
    [["train", "My", "first", "train"], "my-first-train"],
  ])("makes of %j the folder %s, inside the content folder", async (args, id) => {
    const dir = await makeContent({});
    await runNew([...args, "--content", dir]);
    expect(await readdir(join(dir, "trains"))).toEqual([id]);
    expect((await readContent(dir)).faults).toEqual([]);
  });

  it.each([
    [["train", "../.."], "new/unsafe-name"],
    [["train", "Телескоп"], "new/unsafe-name"],
    [["train"], "new/usage"],
    [[], "new/usage"],
    [["telescope", "x"], "new/usage"],
    [["train", "x", "--force"], "new/usage"],
    [["test", "tarn"], "new/usage"],
    [["test", "../tarn", "2026-10-03"], "new/unknown-train"],
    [["test", "tarm", "2026-10-03"], "new/unknown-train"],
    [["test", "tarn", "2026-02-30"], "new/bad-date"],
    [["test", "tarn", "../../../x"], "new/bad-date"],
    [["test", "tarn", "2026-10-03/../../x"], "new/unsafe-name"],
    [["test", "tarn", "2026-10-031"], "new/unsafe-name"],
  ])("refuses %j as %s and writes nothing", async (args, code) => {
    const dir = await makeContent({ "trains/tarn/train.yaml": "name: Mine\n" });
    expect((await findFault([...args, "--content", dir])).code).toBe(code);
    expect(await readdir(dir, { recursive: true })).toHaveLength(3);
  });

  it("names the nearest trains where one is unknown", async () => {
    const dir = await makeContent({ "trains/heron/train.yaml": "", "trains/tarn/train.yaml": "" });
    expect((await findFault(["test", "tarm", "2026-10-03", "--content", dir])).allowed).toBe("tarn, heron");
  });

  it("ends with status 1 and no stack trace where the folder cannot be made, and shows one with --debug", async () => {
    const dir = await makeContent({ file: "no folder" });
    const args = ["--import", "tsx", "lib/commands/new.ts", "train", "x", "--content", join(dir, "file")];
    const plain = await run(process.execPath, args, { cwd: root }).catch((error) => error);
    expect(plain.code).toBe(1);
    expect(plain.stderr).toContain("new/not-written");
    expect(plain.stderr).not.toMatch(/^\s+at /m);
    const debug = await run(process.execPath, [...args, "--debug"], { cwd: root }).catch((error) => error);
    expect(debug.stderr).toMatch(/^\s+at /m);
  }, 30_000);
});

describe("writeSchemas", () => {
  it("writes five schemas once, and nothing where they are right already", async () => {
    const dir = await makeContent({});
    expect(await writeSchemas(dir)).toHaveLength(5);
    expect(await writeSchemas(dir)).toEqual([]);
  });

  it("has nothing to change in the content that ships with the project", async () => {
    for (const kind of ["train", "test", "site", "comparison", "parts"]) {
      const shipped = await readFile(join(root, `content/.schema/${kind}.schema.json`), "utf8");
      const dir = await makeContent({});
      await writeSchemas(dir);
      expect(await readFile(join(dir, `.schema/${kind}.schema.json`), "utf8")).toBe(shipped);
    }
  });
});
