import { renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { drawGuidingLog, drawWindLog } from "./draw-logs.ts";
import { logs } from "./logs.ts";

/** Writes the demo's logs beside their records; they are kept with the records, as a user's own would be. */
for (const { test, plan } of logs) {
  const dir = join(import.meta.dirname, "content", "trains", test);
  for (const [name, text] of [
    ["guiding.csv", drawGuidingLog(plan)],
    ["wind.csv", drawWindLog(plan)],
  ]) {
    writeFileSync(join(dir, `${name}.new`), text);
    renameSync(join(dir, `${name}.new`), join(dir, name));
  }
}
