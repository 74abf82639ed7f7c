/**
 * Builds a site of many trains of two real-sized tests each, in a process of its own for each of: nothing stored, all
 * results stored but no site, one changed record, nothing changed. Prints what each took, as JSON; `processorSeconds`
 * counts all threads and the start of the program.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { changeOneRecord, dropSite, makeBenchContent } from "./make-bench-content.ts";
import { makeBenchFrame } from "./make-bench-frame.ts";

const count = Number(process.argv[2] ?? 1000);
const root = resolve(import.meta.dirname, "../..");
const frame = join(root, ".cache/bench/frame-26mp.fits");
const dir = mkdtempSync(join(tmpdir(), "bench-pages-"));
/** What `npm run build` tells Node. */
const { scripts } = JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as {
  scripts: { build: string };
};
const flags = scripts.build.split(" ").filter((word) => word.startsWith("--"));
/** Files changed within the clock's grain are looked at again by the next build; a bench is not to measure that. */
const settle = () => new Promise((done) => setTimeout(done, 2100));

interface Run {
  seconds: number;
  cpuSeconds: number;
  peakMb: number;
  reused: number;
}

async function build(content: string): Promise<Run> {
  await settle();
  const script = join(import.meta.dirname, "build-once.ts");
  const output = execFileSync(
    process.execPath,
    [...flags, "--import", "tsx", script, content, join(dir, "site")],
    {
      cwd: root,
      encoding: "utf8",
      stdio: ["ignore", "pipe", "inherit"],
    },
  );
  return JSON.parse(output.trim().split("\n").at(-1) ?? "{}") as Run;
}

try {
  makeBenchFrame(frame);
  const content = await makeBenchContent(dir, frame, count);
  const first = await build(content);
  dropSite(join(dir, "site"));
  const whole = await build(content);
  changeOneRecord(content);
  const changed = await build(content);
  const idle = await build(content);
  if (changed.reused !== count - 1 || idle.reused !== count)
    throw new Error("pages were made that stood already");
  console.log(JSON.stringify({ count, first, whole, changed, idle }));
} finally {
  rmSync(dir, { recursive: true, force: true });
}
