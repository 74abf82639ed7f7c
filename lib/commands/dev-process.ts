import { type ChildProcess, fork } from "node:child_process";
import { join } from "node:path";
import type { LiveAnswer, LiveRequest } from "./build-live.ts";
import type { BuilderAnswer } from "./dev-builder.ts";

export interface DevProcess {
  build: (request: LiveRequest) => Promise<LiveAnswer>;
  /** The program's code has changed: the next build runs it as it is then. */
  noteEdit: () => void;
  /** The next build starts another process; one that builds now comes to its end. */
  restart: () => void;
  close: () => void;
}

/** Edits after which one process goes on: it keeps all modules it ever loaded, a few megabytes an edit where many changed. */
const mostVersions = 60;

/** Room for what a build makes and drops again (measured: with the default of 16 a build tidies for 0.1 s). */
const youngMegabytes = 64;

/** The builder's process, started with the first build and again where it cannot go on. */
export function openDevProcess(): DevProcess {
  let child: ChildProcess | null = null;
  let stale = false;
  let reloads = false;
  let edits = 0;
  const start = () =>
    fork(join(import.meta.dirname, "start.mjs"), ["dev-builder"], {
      execArgv: [`--max-semi-space-size=${youngMegabytes}`],
      stdio: ["ignore", "inherit", "inherit", "ipc"],
    });
  const end = () => {
    child?.kill();
    child = null;
    stale = false;
    edits = 0;
  };
  return {
    build(request) {
      if (stale) end();
      child ??= start();
      const own = child;
      return new Promise((done) => {
        const settle = (answer: BuilderAnswer) => {
          own.off("message", settle);
          own.off("exit", fail);
          ({ reloads } = answer);
          done(answer);
        };
        const fail = () => {
          if (child === own) child = null;
          const faults = "The program cannot be run as it stands; the terminal says why.";
          settle({ faults, steps: [], reloads: false });
        };
        own.on("message", settle);
        own.once("exit", fail);
        own.send(request);
      });
    },
    noteEdit() {
      edits++;
      if (!reloads || edits > mostVersions) stale = true;
    },
    restart() {
      stale = true;
    },
    close: end,
  };
}
