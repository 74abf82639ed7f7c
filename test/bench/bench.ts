/**
 * `npm run bench`: what measuring a real-sized frame and building many pages cost. Times on a shared machine mean little
 * by themselves, so measuring is stated as a ratio to sep on the same file in the same run, alternating with it.
 */
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { availableParallelism } from "node:os";
import { join, resolve } from "node:path";
import { makeBenchFrame } from "./make-bench-frame.ts";

const here = import.meta.dirname;
const root = resolve(here, "../..");
const frame = join(root, ".cache/bench/frame-26mp.fits");
const rounds = 3;

function runScript(name: string, ...args: string[]): Record<string, number> {
  const output = execFileSync(process.execPath, ["--import", "tsx", join(here, name), ...args], {
    cwd: root,
    encoding: "utf8",
    stdio: ["ignore", "pipe", "inherit"],
    maxBuffer: 1 << 26,
  });
  return JSON.parse(output.trim().split("\n").at(-1) ?? "{}");
}

interface PagesBench {
  count: number;
  first: Record<string, number>;
  whole: Record<string, number>;
  changed: Record<string, number>;
  idle: Record<string, number>;
}

/** null where this machine has no python3 with sep. */
function runSep(): Record<string, number> | null {
  for (const python of ["/usr/bin/python3", "python3"]) {
    try {
      const output = execFileSync(python, [join(here, "sep_once.py"), frame, "2"], {
        encoding: "utf8",
        stdio: ["ignore", "pipe", "ignore"],
      });
      return JSON.parse(output);
    } catch {}
  }
  return null;
}

const least = (values: number[]) => Math.min(...values);

makeBenchFrame(frame);
const ours: Record<string, number>[] = [];
const theirs: (Record<string, number> | null)[] = [];
for (let round = 0; round < rounds; round++) {
  ours.push(runScript("measure-once.ts", frame, "2"));
  theirs.push(runSep());
}
const pages = runScript("bench-pages.ts", process.argv[2] ?? "1000") as unknown as PagesBench;
const frameMb = (6248 * 4176 * 2) / 1e6;
const seconds = least(ours.map((run) => run.seconds));
const reference = theirs.every((run) => run !== null) ? least(theirs.map((run) => run?.seconds ?? 0)) : null;
const matching = runScript("bench-matching.ts");
const comparing = runScript("bench-comparing.ts");
/** Seconds a core takes on this machine now, over those that measuring a frame takes in the same run, and over the most allowed. */
const relate = (taken: number, mostSeconds: number) => ({
  ratioToMeasuringAFrame: taken / seconds,
  ratioToLimit: taken / mostSeconds,
});
const result = {
  environment: { node: process.version, cores: availableParallelism() },
  measuring: {
    frame: "6248 x 4176, 16 bit, 4,000 stars",
    seconds,
    firstFrameSeconds: least(ours.map((run) => run.first)),
    stars: ours[0].stars,
    usable: ours[0].usable,
    peakMb: Math.max(...ours.map((run) => run.peakMb)),
    peakLimitMb: 4 * frameMb + 250,
    sepSeconds: reference,
    sepPeakMb: theirs[0]?.peakMb ?? null,
    ratioToSep: reference === null ? null : seconds / reference,
  },
  matching: { ...matching, ...relate(matching.seconds, 1) },
  comparing: { ...comparing, ...relate(comparing.seconds, 3) },
  pages: {
    trains: pages.count,
    // Results of tests analysed, pages made: nothing stored but what the same stars share.
    secondsFirst: pages.first.seconds,
    secondsAllPages: pages.whole.seconds,
    processorSecondsAllPages: pages.whole.cpuSeconds,
    peakMb: Math.max(pages.first.peakMb, pages.whole.peakMb),
    secondsAfterOneChange: pages.changed.seconds,
    processorSecondsAfterOneChange: pages.changed.cpuSeconds,
    secondsNothingChanged: pages.idle.seconds,
  },
};
writeFileSync(join(root, "bench.json"), `${JSON.stringify(result, null, 2)}\n`);
console.table(result.measuring);
console.table(result.matching);
console.table(result.comparing);
console.table(result.pages);
console.log("written to bench.json");
