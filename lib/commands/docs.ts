import { resolve } from "node:path";
import { formatKeyList } from "../records/format-key-list.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";
import { replaceFile } from "./write-file.ts";

/** `npm run docs`: writes docs/records.md, the meaning of every record key, from the checks themselves. */
export async function writeDocs(_args: readonly string[], terminal: Terminal): Promise<void> {
  const file = resolve(import.meta.dirname, "../../docs/records.md");
  await replaceFile(file, formatKeyList());
  terminal.result(`The record keys are in ${file}`);
}

if (isStarted(import.meta.url)) await runCommand(writeDocs);
