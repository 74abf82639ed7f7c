import { type ChildProcess, fork } from "node:child_process";
import { join } from "node:path";
import type { DevAnswer, DevRequest } from "./dev-builder.ts";

export interface DevProcess {
  build: (request: DevRequest) => Promise<DevAnswer>;
  /** The next build starts a process that runs the code as it is then; one that builds now comes to its end. */
  restart: () => void;
  close: () => void;
}

/** The builder's process, started with the first build and again after each change of the program. */
export function openDevProcess(): DevProcess {
  let child: ChildProcess | null = null;
  let stale = false;
  const start = () =>
    fork(join(import.meta.dirname, "start.mjs"), ["dev-builder"], {
      execArgv: [],
      stdio: ["ignore", "inherit", "inherit", "ipc"],
    });
  const end = () => {
    child?.kill();
    child = null;
    stale = false;
  };
  return {
    build(request) {
      if (stale) end();
      child ??= start();
      const own = child;
      return new Promise((done) => {
        const settle = (answer: DevAnswer) => {
          own.off("message", settle);
          own.off("exit", fail);
          done(answer);
        };
        const fail = () => {
          if (child === own) child = null;
          settle({ faults: "The program cannot be run as it stands; the terminal says why.", steps: [] });
        };
        own.on("message", settle);
        own.once("exit", fail);
        own.send(request);
      });
    },
    restart() {
      stale = true;
    },
    close: end,
  };
}
