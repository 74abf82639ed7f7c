import { join, relative, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { type Fault, formatFault } from "../fault.ts";
import type { LiveAnswer, LiveBuild, LiveProgram, LiveRequest } from "./build-live.ts";
import { dropOldModules, loadLiveProgram } from "./live-program.ts";
import { openResidentMemory } from "./resident-memory.ts";

/** What `program.mjs` offers; it is plain JavaScript and stays outside of what it puts together. */
interface Program {
  importCommand: (name: string) => Promise<{ buildLive: LiveBuild }>;
  /** Whether a changed program is another module: else the first one loaded runs to the end of the process. */
  canKeep: () => boolean;
}

/** An answer, and whether this process will run the program as it then stands. */
export type BuilderAnswer = LiveAnswer & { reloads: boolean };

interface CompileError {
  text: string;
  location: { file: string; line: number; column: number } | null;
}

const root = resolve(import.meta.dirname, "../..");

/** Why the program cannot be loaded, by place where the compiler names one. */
function describeBroken(error: unknown): LiveAnswer {
  const { errors, message } = error as { errors?: CompileError[]; message?: string };
  const listed = errors ?? [{ text: message ?? String(error), location: null }];
  const faults = listed.map(({ text, location }): Fault => {
    const place = location === null ? {} : { line: location.line, column: location.column + 1 };
    return {
      code: "commands/broken-program",
      file: location === null ? "lib" : relative(process.cwd(), resolve(root, location.file)),
      ...place,
      found: text.split("\n")[0],
      allowed: "code that can be loaded",
      fix: "correct it and save: the page then shows the change",
    };
  });
  return { faults: faults.map(formatFault).join("\n"), steps: [] };
}

/**
 * Builds for the live view in a process that stays: packages are loaded once, and each build runs the program as it stands
 * in its files then.
 */
const address = pathToFileURL(join(import.meta.dirname, "program.mjs")).href;
const { canKeep, importCommand } = (await import(address)) as Program;
const reloads = canKeep();
if (reloads) dropOldModules();
/** Chosen: some ten trains of six measured tests. */
const resident = openResidentMemory(256 * 1024 ** 2);

async function loadProgram(): Promise<LiveProgram> {
  if (reloads) return loadLiveProgram(resident);
  const { buildLive } = await importCommand("build-live");
  return { build: buildLive, rehearse: async () => {} };
}

/** Waits after a build before it readies itself for the next, ms (chosen: an open page has loaded again by then). */
const restMs = 300;
/** Whether this process has been readied for edits, and what it is at. */
let isReady = false;
let rehearsal: Promise<void> = Promise.resolve();
let asked = 0;

/** Once, when no edit is waiting; what goes wrong in it will be told by the build that needs it. */
function rehearse(program: LiveProgram, request: LiveRequest): void {
  const own = asked;
  setTimeout(() => {
    if (isReady || own !== asked) return;
    rehearsal = program
      .rehearse(request, () => own === asked)
      .then(
        () => {
          isReady = true;
        },
        () => {
          // The next build tries again.
        },
      );
  }, restMs);
}

process.on("disconnect", () => process.exit());
process.on("message", async (request: LiveRequest) => {
  asked++;
  await rehearsal;
  const loaded = await loadProgram().catch(describeBroken);
  const answer = "build" in loaded ? await loaded.build(request) : loaded;
  process.send?.({ ...answer, reloads } satisfies BuilderAnswer);
  if ("build" in loaded && answer.faults === null) rehearse(loaded, request);
});
