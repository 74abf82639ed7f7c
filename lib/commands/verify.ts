import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { read } from "../pipeline.ts";
import type { Content, TestEntry, TrainEntry } from "../records/types.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { buildContent } from "./build-content.ts";
import { hashColourCode, hashLightCode, hashMatchedCode, hashMeasuringCode } from "./bundle-code.ts";
import { compareFolders } from "./compare-folders.ts";
import { compareColours, compareFlats, compareFrames } from "./compare-frames.ts";
import { openFileHashes } from "./file-hashes.ts";
import { locateFrames } from "./locate-frames.ts";
import { readMatched } from "./matched-store.ts";
import { remeasureComparison } from "./measure-comparisons.ts";
import { chooseTests, everything, readMeasurements } from "./measure-content.ts";
import { nameTest } from "./measure-needs.ts";
import { measureTest } from "./measure-test.ts";
import { readCount, readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { makeWorkerPool } from "./worker-pool.ts";

interface VerifyRequest {
  framesDir: string | null;
  jobs: number | undefined;
}

/** A bench that trusts no digest and no earlier work, and keeps nothing. */
async function makeStrictBench(request: VerifyRequest, scratch: string, terminal: Terminal) {
  const pool = makeWorkerPool(request.jobs);
  const bench = {
    framesDir: request.framesDir,
    code: await hashMeasuringCode(),
    colourCode: await hashColourCode(),
    lightCode: await hashLightCode(),
    hashes: await openFileHashes(join(scratch, "hashes.json"), false),
    unfinished: {
      find: async () => null,
      keep: async (frame: FrameMeasurement) => frame,
      drop: async () => {},
    },
    run: pool.run,
    onStep: terminal.step,
  };
  return { bench, close: pool.close };
}

/** What re-measuring the frames at hand finds different from what is stored, a sentence each. */
async function compareMeasurements(
  content: Content,
  stored: ReadonlyMap<string, TestMeasurement>,
  request: VerifyRequest,
  scratch: string,
  terminal: Terminal,
): Promise<string[]> {
  const differences: string[] = [];
  const { bench, close } = await makeStrictBench(request, scratch, terminal);
  try {
    for (const { train, test } of chooseTests(content, null, everything)) {
      const before = stored.get(nameTest(train, test));
      if (before === undefined) continue;
      if (!(await isAtHand(train, test, request.framesDir))) {
        terminal.step(`${nameTest(train, test)}: frames are not all at hand, not measured again`);
        continue;
      }
      if (before.code !== bench.code) {
        terminal.step(`${nameTest(train, test)}: measured by another version of the measuring code`);
      }
      // The record's folder is left alone: what is measured now goes to a scratch folder.
      const apart = { ...test, dir: join(scratch, train.id, test.id) };
      const { measurement } = await measureTest(train, apart, { ...bench, recordDir: test.dir });
      if (measurement === null) continue;
      const found = [
        ...compareFrames(before.frames, measurement.frames),
        ...compareFrames(before.sweep ?? [], measurement.sweep ?? []),
        ...compareColours(before, measurement),
        ...compareFlats(before.flats, measurement.flats),
      ];
      differences.push(...found.map((sentence) => `${nameTest(train, test)}: ${sentence}`));
    }
    const matched = { ...bench, code: await hashMatchedCode() };
    for (const entry of content.comparisons) {
      const before = await readMatched(content.dir, entry.id, true);
      if (before === null) continue;
      const now = await remeasureComparison(entry, content, stored, matched);
      if (now === null) continue;
      const found = compareFrames(before.frames, now.frames);
      differences.push(...found.map((sentence) => `comparison ${entry.id}: ${sentence}`));
    }
  } finally {
    await close();
  }
  return differences;
}

/** Whether every list of frames that the record names is there. */
async function isAtHand(train: TrainEntry, test: TestEntry, framesDir: string | null): Promise<boolean> {
  for (const frames of [test.record.frames, test.record.flats, test.record.bias]) {
    if (frames.length === 0) continue;
    const named = { ...test, record: { ...test.record, frames } };
    if ((await locateFrames(train, named, framesDir)).error !== null) return false;
  }
  return true;
}

/** `npm run verify -- --content DIR [--out DIR]`: whether stored measurements and site are what records and frames give. */
export async function runVerify(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("verify", args, ["content", "out", "frames", "jobs"]);
  const outDir = options.out ?? "_site";
  const content = await read(options.content ?? "content");
  const stored = await readMeasurements(content);
  const scratch = await mkdtemp(join(tmpdir(), "rig-report-verify-"));
  try {
    const request = { framesDir: options.frames ?? null, jobs: readCount("verify", "jobs", options.jobs) };
    const differences = await compareMeasurements(content, stored, request, scratch, terminal);
    const fresh = join(scratch, "site");
    // Nothing that an earlier build computed is trusted.
    await buildContent({
      content,
      outDir: fresh,
      onStep: terminal.step,
      storeDir: join(scratch, "store"),
    });
    differences.push(...(await compareFolders(outDir, fresh)));
    if (differences.length === 0) {
      terminal.result(`Nothing differs: ${stored.size} measured tests, site in ${outDir}`);
      return;
    }
    for (const difference of differences) terminal.result(difference);
    terminal.result(`${differences.length} differences from what is stored in ${content.dir} and ${outDir}`);
    process.exitCode = 1;
  } finally {
    await rm(scratch, { recursive: true, force: true });
  }
}

if (isStarted(import.meta.url)) await runCommand(runVerify);
