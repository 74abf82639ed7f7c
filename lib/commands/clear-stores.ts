import { join } from "node:path";
import { storedKinds } from "./build-store.ts";
import { clearComputedStore } from "./computed-store.ts";

/** Takes away what no build has used for long from every part of a build's store. */
export async function clearStores(dir: string, now: number): Promise<void> {
  for (const kind of [...storedKinds, "fits"]) await clearComputedStore(join(dir, kind), now);
}
