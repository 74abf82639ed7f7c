import { mkdtemp, rm, symlink } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { readCount, readOptions, readShard } from "../../lib/commands/options.ts";
import { serveSite } from "../../lib/commands/serve-site.ts";
import { ReportError } from "../../lib/fault.ts";
import { writeText } from "./draw-frames.ts";

function listFaults(run: () => unknown) {
  try {
    run();
  } catch (error) {
    if (error instanceof ReportError) return error.faults;
  }
  return [];
}

describe("options", () => {
  it("are read as typed, with --debug known to every command", () => {
    expect(readOptions("build", ["--content", "a", "--out=b", "--debug"], ["content", "out"])).toEqual({
      content: "a",
      out: "b",
      debug: true,
    });
  });

  it("that a command does not know are a fault that lists those it knows and the nearest", () => {
    const [fault] = listFaults(() => readOptions("build", ["--contnet", "a"], ["content", "out"]));
    expect(fault.allowed).toBe("--content DIR, --out DIR, --debug");
    expect(fault.fix).toContain("near it: content");
    expect(listFaults(() => readOptions("build", ["stray"], ["content"]))).toHaveLength(1);
  });

  it("take whole numbers from 1 and shards I/N with I at most N", () => {
    expect(readCount("measure", "jobs", "4")).toBe(4);
    expect(readShard("measure", "2/5")).toEqual({ index: 2, count: 5 });
    for (const bad of ["0", "-1", "1.5", "x", "9999999"]) {
      expect(listFaults(() => readCount("measure", "jobs", bad))).toHaveLength(1);
    }
    for (const bad of ["3/2", "0/2", "1", "1/2/3"]) {
      expect(listFaults(() => readShard("measure", bad))).toHaveLength(1);
    }
  });
});

describe("the little server", () => {
  it("gives out files within the folder only: no path and no link leads out", async () => {
    const dir = await mkdtemp(join(tmpdir(), "rig-report-serve-"));
    await writeText(join(dir, "secret.txt"), "secret");
    await writeText(join(dir, "site/index.html"), "<body><p>page</p></body>");
    await symlink(join(dir, "secret.txt"), join(dir, "site/link.txt"));
    const server = await serveSite(join(dir, "site"), 0, true);
    try {
      const page = await fetch(server.address);
      expect(page.headers.get("content-type")).toContain("text/html");
      expect(await page.text()).toContain('<p>page</p><script src="/.live.js"></script>');
      for (const path of ["link.txt", "..%2fsecret.txt", "%2e%2e/secret.txt", "%ff", "none.txt"]) {
        expect((await fetch(server.address + path)).status).toBe(404);
      }
      expect(await (await fetch(`${server.address}none.html`)).text()).toContain("not built yet");
    } finally {
      server.close();
      await rm(dir, { recursive: true });
    }
  });
});
