import { rm } from "node:fs/promises";
import { join, resolve } from "node:path";
import { read } from "../pipeline.ts";
import type { Content } from "../records/types.ts";
import { buildContent } from "./build-content.ts";
import type { LiveRequest, LiveSetting } from "./build-live.ts";
import { openContentMemory } from "./content-memory.ts";
import { openStoreFolder } from "./open-store-folder.ts";

/** Trains that are rehearsed with their comparisons (chosen: some two seconds of one core at each start). */
const mostTrains = 6;

/** The first trains and the comparisons that need no other. */
function takeFirst(content: Content): Content {
  const trains = content.trains.slice(0, mostTrains);
  const ids = new Set(trains.map(({ id }) => id));
  const comparisons = content.comparisons.filter(
    ({ record }) => ids.has(record.a.train) && ids.has(record.b.train),
  );
  return { ...content, trains, comparisons };
}

/**
 * Does what an edit will ask for and throws the pages away, so that the first edit finds measurements decoded, stages
 * remembered and code run in, as later ones do. `isWanted` is asked now and then; an edit is not to wait for this.
 */
export async function rehearseLive(
  { contentDir }: LiveRequest,
  { graph }: LiveSetting,
  isWanted: () => boolean,
): Promise<void> {
  const store = await openStoreFolder(contentDir);
  const outDir = join(store.dir, "rehearsal");
  try {
    const memory = openContentMemory(resolve(contentDir), join(store.dir, "records"), Date.now(), graph);
    const content = takeFirst(await read(contentDir, memory));
    const request = { content, outDir, storeDir: store.dir, memory, graph, quick: true, onStep: () => {} };
    await buildContent({ ...request, rehearses: isWanted });
  } finally {
    await rm(outDir, { recursive: true, force: true });
    await store.close();
  }
}
