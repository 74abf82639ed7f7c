import { spawn } from "node:child_process";
import { cp, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runBuild } from "../../lib/commands/build.ts";
import { runMeasure } from "../../lib/commands/measure.ts";
import { runReport } from "../../lib/commands/report.ts";
import { describeFailure } from "../../lib/commands/run-command.ts";
import { replaceFile } from "../../lib/commands/write-file.ts";
import { type Fault, ReportError } from "../../lib/fault.ts";
import { drawField, encodeFits, trainYaml, writeContent, writeText } from "./draw-frames.ts";

const root = resolve(import.meta.dirname, "../..");
const quiet = { step: () => {}, result: () => {} };

let scratch: string;
/** A content folder with two good frames, measured; each case works on a copy. */
let measured: string;
let cases = 0;

beforeAll(async () => {
  scratch = await mkdtemp(join(tmpdir(), "rig-report-bad-"));
  measured = join(scratch, "good");
  await writeContent(measured);
  await runMeasure(["--content", measured, "--jobs", "1"], quiet);
});
afterAll(() => rm(scratch, { recursive: true, force: true }));

interface Case {
  dir: string;
  testDir: string;
  frame: (name: string) => string;
}

async function makeCase(): Promise<Case> {
  const dir = join(scratch, `case-${cases++}`);
  await cp(measured, dir, { recursive: true });
  const testDir = join(dir, "trains/tarn-60/tests/2026-10-03");
  return { dir, testDir, frame: (name) => join(testDir, "frames", name) };
}

async function listFaults(run: Promise<unknown>): Promise<Fault[]> {
  try {
    await run;
  } catch (error) {
    if (error instanceof ReportError) return [...error.faults];
    throw error;
  }
  return [];
}

const measure = (dir: string) => listFaults(runMeasure(["--content", dir, "--jobs", "1"], quiet));

/** Adds a third frame to a measured test and gives back the faults; the stored measurement has to stay as it was. */
async function addFrame(bytes: Buffer): Promise<Fault[]> {
  const { dir, testDir, frame } = await makeCase();
  const before = await readFile(join(testDir, "measured.json"), "utf8");
  await writeFile(frame("field-3.fits"), bytes);
  const faults = await measure(dir);
  expect(await readFile(join(testDir, "measured.json"), "utf8")).toBe(before);
  for (const fault of faults) expect(fault.file).toContain("field-3.fits");
  return faults;
}

const flatImage = (levelAdu: number, size = {}) =>
  drawField({ sky: 1, seed: 5, stars: 0, levelAdu, ...size });

describe("a frame that cannot be measured gets one message that names it, and nothing stored is lost", () => {
  it("empty, truncated, or no picture at all", async () => {
    const good = encodeFits(drawField({ sky: 7, seed: 9 }));
    for (const bytes of [
      Buffer.alloc(0),
      good.subarray(0, 40_000),
      Buffer.from("not a picture\n".repeat(500)),
    ]) {
      const faults = await addFrame(bytes);
      expect(faults).toHaveLength(1);
      expect(faults[0].code).toMatch(/^frames\//);
    }
  });

  it("of another size than the camera's, with both sizes in the message", async () => {
    const faults = await addFrame(encodeFits(drawField({ sky: 7, seed: 9, widthPx: 500, heightPx: 300 })));
    expect(faults).toHaveLength(1);
    expect(faults[0]).toMatchObject({ code: "field/wrong-size", found: "500 x 300 px" });
    expect(faults[0].allowed).toContain("600 x 400 px");
  });

  it("without one value: floats that are all NaN", async () => {
    const image = encodeFits(flatImage(500), { BITPIX: -32 });
    const data = Buffer.alloc(600 * 400 * 4);
    for (let i = 0; i < data.length; i += 4) data.writeFloatBE(Number.NaN, i);
    const padded = Buffer.concat([
      image.subarray(0, 2880),
      data,
      Buffer.alloc((2880 - (data.length % 2880)) % 2880),
    ]);
    expect(await addFrame(padded)).toMatchObject([{ code: "frames/no-values" }]);
  });

  it("saturated throughout, by the record's 60000 ADU", async () => {
    const image = { ...flatImage(500), samples: new Uint16Array(600 * 400).fill(61_000) };
    expect(await addFrame(encodeFits(image))).toMatchObject([{ code: "stars/all-saturated" }]);
  });

  it("without a star", async () => {
    expect(await addFrame(encodeFits(flatImage(500)))).toMatchObject([{ code: "stars/no-star" }]);
  });

  it("a flat, by its header or by its even light without stars", async () => {
    const told = await addFrame(encodeFits(flatImage(25_000), { IMAGETYP: "Flat Field" }));
    expect(told).toMatchObject([{ code: "stars/not-a-light" }]);
    expect(told[0].fix).toContain("flats");
    expect(await addFrame(encodeFits(flatImage(25_000)))).toMatchObject([
      { code: "stars/looks-like-a-flat" },
    ]);
  });

  it("of another exposure or filter than the others", async () => {
    const image = drawField({ sky: 7, seed: 9 });
    expect(await addFrame(encodeFits(image, { EXPTIME: 120 }))).toMatchObject([
      { code: "stars/mixed-exposures" },
    ]);
  });

  it("of another field than the others", async () => {
    const image = drawField({ sky: 8, seed: 9 });
    expect(await addFrame(encodeFits(image, { EXPTIME: 60 }))).toMatchObject([{ code: "stars/other-field" }]);
  });

  it("several at once: every one is named", async () => {
    const { dir, frame } = await makeCase();
    await writeFile(frame("field-3.fits"), "");
    await writeFile(frame("field-4.fits"), encodeFits(flatImage(500, { widthPx: 300, heightPx: 200 })));
    const faults = await measure(dir);
    expect(faults.map(({ file }) => file.slice(-12)).sort()).toEqual(["field-3.fits", "field-4.fits"]);
  });
});

describe("records that cannot stand", () => {
  it("name no frame: the pattern is in the message; a measured test goes on with what is stored", async () => {
    const { dir, testDir } = await makeCase();
    await rm(join(testDir, "frames"), { recursive: true });
    expect(await measure(dir)).toEqual([]);
    await rm(join(testDir, "measured.json"));
    const faults = await measure(dir);
    expect(faults).toMatchObject([{ code: "frames/no-match" }]);
    expect(faults[0].found).toContain("frames/field-*.fits");
  });

  it("unknown part, impossible number, broken YAML and a hostile name are told together, and no site is touched", async () => {
    const { dir } = await makeCase();
    const out = join(scratch, "standing");
    await runReport(["--content", dir, "--out", out, "--jobs", "1"], quiet);
    const before = await readFile(join(out, "trains/tarn-60/results.json"), "utf8");
    await writeText(
      join(dir, "trains/unknown-part/train.yaml"),
      trainYaml.replace(/camera: .*/, "camera: heron-99"),
    );
    await writeText(join(dir, "trains/thousandfold/train.yaml"), trainYaml.replace("3.76", "3760"));
    await writeText(join(dir, "trains/broken/train.yaml"), "name: [unclosed\n");
    await writeText(join(dir, "trains/<img src=x>/train.yaml"), trainYaml);
    const faults = await listFaults(runReport(["--content", dir, "--out", out, "--jobs", "1"], quiet));
    const files = faults.map(({ file }) => file).join("\n");
    for (const name of ["unknown-part", "thousandfold", "broken", "<img src=x>"])
      expect(files).toContain(name);
    expect(await readFile(join(out, "trains/tarn-60/results.json"), "utf8")).toBe(before);
  });

  it("a damaged measured.json is a fault for build, and is measured anew with the frames at hand", async () => {
    const { dir, testDir } = await makeCase();
    const file = join(testDir, "measured.json");
    const whole = await readFile(file, "utf8");
    await writeFile(file, whole.slice(0, 5000));
    const out = join(scratch, "never");
    expect(await listFaults(runBuild(["--content", dir, "--out", out], quiet))).toMatchObject([
      { code: "measure/damaged" },
    ]);
    expect(await measure(dir)).toEqual([]);
    expect(await readFile(file, "utf8")).toBe(whole);
  });
});

describe("places that cannot be written", () => {
  it("an output folder that holds something else is refused and left alone", async () => {
    const { dir } = await makeCase();
    const out = join(scratch, "photos");
    await writeText(join(out, "wedding.jpg"), "precious");
    const faults = await listFaults(runBuild(["--content", dir, "--out", out], quiet));
    expect(faults).toMatchObject([{ code: "site/foreign-folder" }]);
    expect(await readdir(out)).toEqual(["wedding.jpg"]);
  });

  it("a full disk is told in plain words, and a file is replaced whole or not at all", async () => {
    const full = Object.assign(new Error("ENOSPC: no space left on device, write"), {
      code: "ENOSPC",
      path: "a/b.json",
    });
    expect(describeFailure(full)).toMatchObject([{ code: "commands/disk-full", file: "a/b.json" }]);
    const file = join(scratch, "kept.json");
    await writeFile(file, "old");
    // A folder in the way of the exchange stands for a disk that fails at the last moment.
    await writeText(join(scratch, "blocked.json/inside"), "x");
    await expect(replaceFile(join(scratch, "blocked.json"), "new")).rejects.toThrow();
    expect((await readdir(scratch)).filter((name) => name.includes(".part"))).toEqual([]);
    expect(await readFile(file, "utf8")).toBe("old");
  });
});

/** Runs a command as npm does, and interrupts it once `until` shows on its error stream. */
function runApart(args: string[], until: RegExp | null): Promise<{ status: number | null; text: string }> {
  return new Promise((done) => {
    const child = spawn(process.execPath, ["--import", "tsx", ...args], { cwd: root });
    let text = "";
    let told = false;
    const hear = (chunk: Buffer) => {
      text += chunk.toString();
      if (until === null || told || !until.test(text)) return;
      told = true;
      child.kill("SIGINT");
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.on("exit", (status) => done({ status, text }));
  });
}

describe("the command as a whole", () => {
  it("prints faults without a stack trace and ends with status 1", async () => {
    const { status, text } = await runApart(
      ["lib/commands/report.ts", "--content", join(scratch, "nowhere")],
      null,
    );
    expect(status).toBe(1);
    expect(text).toContain("records/no-content");
    expect(text).not.toMatch(/^\s+at /m);
  });

  it("interrupted by Ctrl-C after the first frame ends with 130, and the next run goes on from there", async () => {
    const dir = join(scratch, "interrupted");
    await writeContent(dir, 3);
    const first = await runApart(
      ["lib/commands/measure.ts", "--content", dir, "--jobs", "1"],
      /frame 1 of 3/,
    );
    expect(first.status).toBe(130);
    const kept = (await readdir(join(dir, ".cache/frames"))).filter((name) => name.endsWith(".json")).length;
    expect(kept).toBeGreaterThanOrEqual(1);
    const lines: string[] = [];
    await runMeasure(["--content", dir, "--jobs", "1"], {
      step: () => {},
      result: (line) => lines.push(line),
    });
    expect(lines[0]).toContain(`${3 - kept} frame${3 - kept === 1 ? "" : "s"} measured now`);
    expect(await readdir(join(dir, ".cache/frames"))).toEqual([]);
  });
});
