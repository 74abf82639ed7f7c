import { type ParseArgsConfig, parseArgs } from "node:util";
import { ReportError } from "../fault.ts";
import { listNearest } from "../records/check-comparison.ts";

/** Every option of every command, with what it takes. */
const OPTIONS = {
  content: { type: "string", takes: "DIR" },
  out: { type: "string", takes: "DIR" },
  frames: { type: "string", takes: "DIR" },
  train: { type: "string", takes: "TRAIN" },
  check: { type: "string", takes: "DIR" },
  only: { type: "string", takes: "TRAIN[/TEST]" },
  jobs: { type: "string", takes: "N" },
  shard: { type: "string", takes: "I/N" },
  serve: { type: "boolean", takes: null },
  port: { type: "string", takes: "PORT" },
  debug: { type: "boolean", takes: null },
} as const;

export type OptionName = keyof typeof OPTIONS;
export type Options = {
  [Name in OptionName]?: (typeof OPTIONS)[Name]["type"] extends "string" ? string : boolean;
};

function fail(command: string, found: string, names: readonly OptionName[], fix: string): never {
  const allowed = names.map(
    (name) => `--${name}${OPTIONS[name].takes === null ? "" : ` ${OPTIONS[name].takes}`}`,
  );
  throw new ReportError([
    { code: "commands/usage", file: `npm run ${command}`, found, allowed: allowed.join(", "), fix },
  ]);
}

/** The options behind `npm run COMMAND --`, of those that the command knows; anything else is a fault that lists them. */
export function readOptions(command: string, args: readonly string[], known: readonly OptionName[]): Options {
  const names: readonly OptionName[] = [...known, "debug"];
  const options: ParseArgsConfig["options"] = Object.fromEntries(
    names.map((name) => [name, { type: OPTIONS[name].type }]),
  );
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({ args: [...args], options, allowPositionals: true });
  } catch (error) {
    const found = error instanceof Error ? error.message.split(/\. |\.$/)[0] : String(error);
    const typed =
      args
        .find((arg) => arg.startsWith("--"))
        ?.slice(2)
        .split("=")[0] ?? "";
    return fail(command, found, names, `use these options only${suggest(typed, names)}`);
  }
  if (parsed.positionals.length > 0) {
    return fail(
      command,
      JSON.stringify(parsed.positionals[0]),
      names,
      "write -- before the first option, and -- before its name",
    );
  }
  return parsed.values as Options;
}

function suggest(typed: string, names: readonly OptionName[]): string {
  if (typed === "" || (names as readonly string[]).includes(typed)) return "";
  return `; near it: ${listNearest(typed, [...names], "none")}`;
}

/** A whole number of at least 1, or undefined where the option was left out. */
export function readCount(command: string, name: OptionName, text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  if (/^[1-9]\d{0,4}$/.test(text)) return Number(text);
  return fail(command, `--${name} ${text}`, [name], "give a whole number from 1");
}

/** Share I of N of the tests, both from 1; the whole where left out. */
export function readShard(command: string, text: string | undefined): { index: number; count: number } {
  if (text === undefined) return { index: 1, count: 1 };
  const match = /^([1-9]\d{0,3})\/([1-9]\d{0,3})$/.exec(text);
  if (match === null || Number(match[1]) > Number(match[2])) {
    return fail(command, `--shard ${text}`, ["shard"], "write for instance --shard 1/4, up to --shard 4/4");
  }
  return { index: Number(match[1]), count: Number(match[2]) };
}
