import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { glob } from "tinyglobby";

async function listFiles(dir: string): Promise<Set<string>> {
  return new Set(await glob("**/*", { cwd: dir, dot: true, onlyFiles: true }));
}

/** Files of the site that a new build from the same records and measurements makes otherwise. */
export async function compareFolders(standing: string, fresh: string): Promise<string[]> {
  const [before, after] = [await listFiles(standing), await listFiles(fresh)];
  if (before.size === 0) return [];
  const differences: string[] = [];
  for (const file of [...new Set([...before, ...after])].sort()) {
    if (!after.has(file)) differences.push(`${file} would no longer be written`);
    else if (!before.has(file)) differences.push(`${file} is missing from the site`);
    else {
      const [old, now] = await Promise.all([readFile(join(standing, file)), readFile(join(fresh, file))]);
      if (!old.equals(now)) differences.push(`${file} differs from what the records and measurements give`);
    }
  }
  return differences;
}
