import { createHash } from "node:crypto";
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { Worker } from "node:worker_threads";
import { ReportError } from "../lib/fault.ts";
import { type FramePlan, planDemoFrames } from "./plan.ts";

export interface FramesMade {
  dir: string;
  /** Files relative to `dir`. */
  drawn: string[];
  kept: string[];
}

export interface FrameMakingOptions {
  /** One line per finished frame. */
  onStep?: (line: string) => void;
  /** Frames to make; the demo's by default. */
  plans?: readonly FramePlan[];
  workers?: number;
}

interface Manifest {
  /** By file: hash of its plan and of the simulator, and the file's size. */
  frames: Record<string, { key: string; bytes: number }>;
}

/**
 * Draws the demo's frames into `targetDir`: only those that are missing, of another size than written, or drawn by
 * another plan or another simulator. Whole files only; what was drawn before an interruption is kept. Beside each frame
 * stands its truth (`light-1.truth.json`). Throws `ReportError` when a frame cannot be written.
 */
export async function makeDemoFrames(
  targetDir: string,
  options: FrameMakingOptions = {},
): Promise<FramesMade> {
  const { onStep = () => {}, plans = planDemoFrames(), workers = 2 } = options;
  mkdirSync(targetDir, { recursive: true });
  const manifestFile = join(targetDir, "manifest.json");
  const manifest = readManifest(manifestFile);
  const code = hashSimulator();
  const keys = new Map(plans.map((plan) => [plan.file, hashText(code + JSON.stringify(plan))]));
  const isCurrent = ({ file }: FramePlan): boolean => {
    const entry = manifest.frames[file];
    const path = join(targetDir, file);
    return entry?.key === keys.get(file) && existsSync(path) && statSync(path).size === entry.bytes;
  };
  const kept = plans.filter(isCurrent).map(({ file }) => file);
  const queue = plans.filter((plan) => !isCurrent(plan));
  const total = queue.length;
  const drawn: string[] = [];
  const finish = (file: string): void => {
    drawn.push(file);
    manifest.frames[file] = { key: keys.get(file) ?? "", bytes: statSync(join(targetDir, file)).size };
    writeFileSync(`${manifestFile}.tmp`, `${JSON.stringify(manifest, null, 1)}\n`);
    renameSync(`${manifestFile}.tmp`, manifestFile);
    onStep(`drawn ${drawn.length} of ${total}: ${file}`);
  };
  const threads = Array.from({ length: Math.min(workers, total) }, () => drawFrom(queue, targetDir, finish));
  await Promise.all(threads);
  drawn.sort();
  return { dir: targetDir, drawn, kept };
}

/** One worker thread that takes plans from the queue until it is empty. */
function drawFrom(queue: FramePlan[], targetDir: string, finish: (file: string) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL("boot.mjs", import.meta.url));
    const stop = (error: Error | null): void => {
      if (error !== null) queue.length = 0;
      void worker.terminate();
      if (error === null) resolve();
      else reject(error);
    };
    const next = (): void => {
      const plan = queue.shift();
      if (plan === undefined) stop(null);
      else worker.postMessage({ plan, targetDir });
    };
    worker.on("message", ({ file, error }: { file: string; error: string | null }) => {
      if (error !== null) return stop(reportFailure(join(targetDir, file), error));
      finish(file);
      next();
    });
    worker.on("error", (error) => stop(reportFailure(targetDir, error.message)));
    next();
  });
}

function reportFailure(file: string, message: string): ReportError {
  return new ReportError([
    {
      code: "demo/frame-not-drawn",
      file,
      found: message,
      allowed: "a folder that can be written, with about 2 GB free for all demo frames",
      fix: "make room or choose another folder, then run the demo again: finished frames are kept",
    },
  ]);
}

function readManifest(file: string): Manifest {
  try {
    const found: unknown = JSON.parse(readFileSync(file, "utf8"));
    if (typeof found === "object" && found !== null && "frames" in found) return found as Manifest;
  } catch {
    // Missing or broken: every frame is drawn anew.
  }
  return { frames: {} };
}

/** Of the code that draws, its comments left out: a better explanation is no reason to draw half a gigabyte again. */
function hashSimulator(): string {
  const dir = join(import.meta.dirname, "simulator");
  const files = readdirSync(dir)
    .sort()
    .map((name) => join(dir, name));
  const texts = [join(import.meta.dirname, "frame-worker.ts"), ...files].map((file) => {
    const text = readFileSync(file, "utf8");
    return text.replace(/^\s*\/\*\*[\s\S]*?\*\/|^\s*\/\/.*$/gm, "").replace(/\n+/g, "\n");
  });
  return hashText(texts.join("\n"));
}

function hashText(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}
