import { access, mkdir, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { clearStores } from "./clear-stores.ts";

/** The folder in which a build keeps what it computed; a passing one where the content cannot be written to. */
export async function openStoreFolder(
  contentDir: string,
): Promise<{ dir: string; close: () => Promise<void> }> {
  const dir = join(resolve(contentDir), ".cache", "built");
  try {
    // A folder that was named by mistake is not to be made.
    await access(contentDir);
    await mkdir(dir, { recursive: true });
    return { dir, close: () => clearStores(dir, Date.now()) };
  } catch {
    const passing = await mkdtemp(join(tmpdir(), "rig-report-build-"));
    return { dir: passing, close: () => rm(passing, { recursive: true, force: true }) };
  }
}
