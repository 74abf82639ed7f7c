import { pathToFileURL } from "node:url";
import { type Fault, formatFault, ReportError } from "../fault.ts";

/** What the terminal hears of: steps on the error stream, the result's place as the last line of output. */
export interface Terminal {
  step: (line: string) => void;
  result: (line: string) => void;
}

const terminal: Terminal = {
  step: (line) => console.error(line),
  result: (line) => console.log(line),
};

const systemFaults: Record<string, Pick<Fault, "code" | "allowed" | "fix">> = {
  ENOSPC: {
    code: "commands/disk-full",
    allowed: "room on the disk for measurements and site",
    fix: "make room and run the same command again: what was finished is kept, and the old site stands",
  },
  EDQUOT: {
    code: "commands/disk-full",
    allowed: "room within your quota for measurements and site",
    fix: "make room and run the same command again: what was finished is kept, and the old site stands",
  },
  EACCES: {
    code: "commands/no-permission",
    allowed: "files and folders that may be read, and written where results go",
    fix: "change the permissions, or name another folder with --content or --out",
  },
  EROFS: {
    code: "commands/no-permission",
    allowed: "a disk that may be written",
    fix: "name a folder on another disk with --content or --out",
  },
  EADDRINUSE: {
    code: "commands/port-taken",
    allowed: "a port that no other program serves on",
    fix: "name another with --port",
  },
};
systemFaults.EPERM = systemFaults.EACCES;

/** What to say of a failure: the faults themselves, the system's refusal in plain words, or that it is our mistake. */
export function describeFailure(error: unknown): Fault[] {
  if (error instanceof ReportError) return [...error.faults];
  const { code, path, message } = (error ?? {}) as NodeJS.ErrnoException;
  const known = code === undefined ? undefined : systemFaults[code];
  if (known !== undefined) return [{ ...known, file: path ?? "the system", found: message }];
  return [
    {
      code: "commands/unexpected",
      file: path ?? "rig-report",
      found: message === undefined ? String(error) : message.split("\n")[0],
      allowed: "no failure of this kind",
      fix: "this is a mistake of the program's own: run again with --debug and report what it prints",
    },
  ];
}

/**
 * Runs a command to its end: faults are printed one below the other and the exit status is 1. Ctrl-C ends at once with
 * status 130; every file is written under another name first and then put in its place, so nothing is left half.
 */
export async function runCommand(
  command: (args: readonly string[], terminal: Terminal) => Promise<void>,
  args: readonly string[] = process.argv.slice(2),
): Promise<void> {
  process.once("SIGINT", () => {
    console.error("\nInterrupted. What was finished is kept; the same command goes on from there.");
    process.exit(130);
  });
  try {
    await command(args, terminal);
  } catch (error) {
    console.error(describeFailure(error).map(formatFault).join("\n"));
    if (args.includes("--debug")) console.error(error);
    process.exitCode = 1;
  }
}

/** Whether this module is what `npm run` started, and not imported by another. */
export function isStarted(moduleUrl: string): boolean {
  return process.argv[1] !== undefined && moduleUrl === pathToFileURL(process.argv[1]).href;
}
