import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runBuild } from "../../lib/commands/build.ts";
import { runMeasure } from "../../lib/commands/measure.ts";
import { runVerify } from "../../lib/commands/verify.ts";
import { decodeMatched, encodeMatched } from "../../lib/compare/matched-codec.ts";
import { ReportError } from "../../lib/fault.ts";
import type { Comparison } from "../../lib/report/results.ts";
import { drawField, encodeFits, small, trainYaml, writeText } from "./draw-frames.ts";

let scratch: string;
let content: string;
let stored: string;
const lines: string[] = [];
const terminal = {
  step: (line: string) => void lines.push(line),
  result: (line: string) => void lines.push(line),
};

/** One sky through one telescope on pixels of 3.76 um and on pixels 1.25 times as wide: stars of 3.0 and of 2.4 px. */
const cameras = [
  { id: "fine", ratio: 1, seed: 1 },
  { id: "wide", ratio: 1.25, seed: 2 },
];

beforeAll(async () => {
  scratch = await mkdtemp(join(tmpdir(), "rig-report-comparisons-"));
  content = join(scratch, "content");
  stored = join(content, "comparisons/pixels.measured.json");
  for (const { id, ratio, seed } of cameras) {
    const train = join(content, "trains", id);
    const [widthPx, heightPx] = [small.widthPx / ratio, small.heightPx / ratio];
    const yaml = trainYaml
      .replace("name: Tarnlight 60\n", `name: Tarnlight 60, ${id} pixels\n`)
      .replace("pixelPitchUm: 3.76", `pixelPitchUm: ${3.76 * ratio}`)
      .replace(
        `widthPx: ${small.widthPx}, heightPx: ${small.heightPx}`,
        `widthPx: ${widthPx}, heightPx: ${heightPx}`,
      );
    await writeText(join(train, "train.yaml"), yaml);
    await writeText(
      join(train, "tests/2026-10-03/test.yaml"),
      "date: 2026-10-03\nframes: [frames/field-*.fits]\n",
    );
    const image = drawField({ sky: 9, seed, widthPx, heightPx, fwhmPx: 3 / ratio });
    const cards = { EXPTIME: 60, IMAGETYP: "Light" };
    await writeText(join(train, "tests/2026-10-03/frames/field-1.fits"), encodeFits(image, cards));
  }
  await writeText(
    join(content, "comparisons/pixels.yaml"),
    "name: Fine against wide pixels\na: { train: fine, test: 2026-10-03 }\nb: { train: wide, test: 2026-10-03 }\n",
  );
  await measure();
});
afterAll(() => rm(scratch, { recursive: true, force: true }));

async function measure(): Promise<void> {
  lines.length = 0;
  await runMeasure(["--content", content, "--jobs", "1"], terminal);
}

const build = () => runBuild(["--content", content, "--out", join(scratch, "site")], terminal);
const verify = () =>
  runVerify(["--content", content, "--out", join(scratch, "site"), "--jobs", "1"], terminal);

async function readStored() {
  const measurement = decodeMatched(await readFile(stored, "utf8"));
  if (measurement === null) throw new Error("not a matched measurement");
  return measurement;
}

describe("measuring comparisons", () => {
  it("resamples the finer side by the 1.25 that common stars give, and keeps it beside the record", async () => {
    expect(lines.some((line) => /^comparison pixels: matched frame 1 of 1, \d+ stars/.test(line))).toBe(true);
    const measurement = await readStored();
    expect(measurement).toMatchObject({ coarser: "b", finer: { train: "fine" }, onto: { train: "wide" } });
    expect(measurement.pixelRatio).toBeCloseTo(1.25, 3);
    expect(measurement.frames[0].file).toMatch(/field-1\.fits$/);
  });

  it("measures nothing again and leaves the file's bytes alone", async () => {
    const before = await readFile(stored, "utf8");
    await measure();
    expect(lines.some((line) => line.includes("matched frame"))).toBe(false);
    expect(await readFile(stored, "utf8")).toBe(before);
  });

  it("lets a build without frames tell both as 2.4 px at equal sampling within 1.5 %", async () => {
    await build();
    const file = join(scratch, "site/comparisons/pixels/results.json");
    const { matched } = JSON.parse(await readFile(file, "utf8")) as Comparison;
    for (const side of ["a", "b"] as const) {
      expect(Math.abs((matched?.zones.middle[side].value ?? 0) / 2.4 - 1)).toBeLessThan(0.015);
    }
  });

  it("has verify name the comparison, and it alone, whose stored widths are not what the frames give", async () => {
    const before = await readFile(stored, "utf8");
    const measurement = await readStored();
    measurement.frames[0].channels[0].stars.fwhmMajorPx[3] *= 1.02;
    await writeFile(stored, encodeMatched(measurement));
    lines.length = 0;
    await verify();
    expect(process.exitCode).toBe(1);
    process.exitCode = 0;
    const named = lines.filter((line) => line.includes(" differs by up to "));
    expect(named).toEqual([
      expect.stringMatching(/^comparison pixels: .*field-1\.fits, channel L: fwhmPx differs by up to /),
    ]);
    await writeFile(stored, before);
  });

  it("refuses to build on a damaged file and names it, and makes it again from the frames", async () => {
    const before = await readFile(stored, "utf8");
    await writeFile(stored, before.slice(0, 200));
    const faults = await build().then(
      () => [],
      (error: unknown) => (error instanceof ReportError ? error.faults : []),
    );
    expect(faults.map(({ code, file }) => [code, file])).toEqual([["measure/damaged", stored]]);
    await measure();
    expect(await readFile(stored, "utf8")).toBe(before);
  });

  it("keeps what is stored where the frames are gone, and says so", async () => {
    const before = await readFile(stored, "utf8");
    await rm(join(content, "trains/fine/tests/2026-10-03/frames"), { recursive: true });
    await measure().catch(() => {});
    expect(await readFile(stored, "utf8")).toBe(before);
    await build();
    const page = await readFile(join(scratch, "site/comparisons/pixels/results.json"), "utf8");
    expect((JSON.parse(page) as Comparison).matched).not.toBeNull();
  });
});
