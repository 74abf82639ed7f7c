import { createHash } from "node:crypto";
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

/** Whether a store has served a whole build whose long computations were this very code's, and a way to say so. */
export function noteFits(storeDir: string, code: string): { known: boolean; note: () => void } {
  const folder = join(storeDir, "fits");
  const file = join(folder, `whole-${createHash("sha256").update(code).digest("hex").slice(0, 40)}`);
  return {
    known: existsSync(file),
    note() {
      mkdirSync(folder, { recursive: true });
      // Written anew each time: what was not used for long is taken away.
      writeFileSync(file, "");
    },
  };
}
