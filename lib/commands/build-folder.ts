import { join, resolve } from "node:path";
import { read } from "../pipeline.ts";
import type { SiteReport } from "../site/build-site.ts";
import { type ModuleGraph, openModuleGraph } from "../site/module-graph.ts";
import { buildContent } from "./build-content.ts";
import { openContentMemory, recordsReader } from "./content-memory.ts";
import { learnContent } from "./learn-content.ts";
import { isMeasured } from "./measure-needs.ts";
import { openStoreFolder } from "./open-store-folder.ts";
import type { PageThreads } from "./page-threads.ts";

/** Reads a content folder and builds its site; tests that still are to be measured are named. */
export async function buildFolder(
  contentDir: string,
  outDir: string,
  onStep: (line: string) => void,
  options: { threads?: number; quick?: boolean; graph?: ModuleGraph } = {},
): Promise<SiteReport> {
  const store = await openStoreFolder(contentDir);
  const { graph = openModuleGraph(), threads } = options;
  let pool: PageThreads | null = null;
  try {
    const [dir, folder, now] = [resolve(contentDir), join(store.dir, "records"), Date.now()];
    const setting = { contentDir: dir, folder, now, reader: graph.digest(recordsReader) };
    pool = await learnContent(setting, threads);
    const memory = openContentMemory(dir, folder, now, graph);

    const content = await read(contentDir, memory);

    for (const train of content.trains) {
      const { measured } = memory.digest(
        train.id,
        train.tests.map(({ id }) => id),
      );
      for (const test of train.tests) {
        if (isMeasured(test) && measured[test.id] === undefined)
          onStep(`${train.id}/${test.id}: not measured yet; npm run report measures its frames`);
      }
    }
    return await buildContent({
      content,
      outDir,
      onStep,
      storeDir: store.dir,
      memory,
      ...options,
      graph,
      pool,
    });
  } finally {
    await pool?.close();
    await store.close();
  }
}
