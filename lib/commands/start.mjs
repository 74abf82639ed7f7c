// `node lib/commands/start.mjs NAME …` runs the command NAME with what follows; the npm scripts start here.
import { existsSync } from "node:fs";
import { join } from "node:path";
import { importCommand } from "./program.mjs";

const [, , name = "", ...args] = process.argv;
const file = join(import.meta.dirname, `${name}.ts`);
if (!/^[a-z-]+$/.test(name) || !existsSync(file)) {
  console.error(`no command "${name}"; package.json lists what npm can run`);
  process.exit(1);
}
if (args.includes("--debug")) process.setSourceMapsEnabled(true);
// What the command's own module compares itself with, and where its options begin.
process.argv = [process.argv[0], file, ...args];
await importCommand(name);
