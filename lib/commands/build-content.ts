import { readFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import type { Content } from "../records/types.ts";
import { buildPlanned, type SiteReport } from "../site/build-site.ts";
import { type ModuleGraph, openModuleGraph } from "../site/module-graph.ts";
import { hashSiteCode } from "../site/template-files.ts";
import { makeBuildKeys } from "./build-keys.ts";
import { listCodeDigests } from "./code-digests.ts";
import type { ContentMemory } from "./content-memory.ts";
import { openContentMemory } from "./content-memory.ts";
import type { BuildSetting } from "./evaluate.ts";
import { noteFits } from "./note-fits.ts";
import { openStoreFolder } from "./open-store-folder.ts";
import type { PageThreads } from "./page-threads.ts";
import { getResidentMemory } from "./resident-memory.ts";
import { fewestForThreads, goOn, SiteBuilder } from "./site-builder.ts";

/** Name and version as package.json has them: they stand in every results file. */
export async function nameSoftware(): Promise<string> {
  const text = await readFile(resolve(import.meta.dirname, "../../package.json"), "utf8");
  const { name, version } = JSON.parse(text) as { name: string; version: string };
  return `${name} ${version}`;
}

export interface BuildRequest {
  content: Content;
  outDir: string;
  onStep: (line: string) => void;
  /** Where what was computed is kept; left out: `.cache/built` of the content folder. */
  storeDir?: string;
  memory?: ContentMemory;
  /** The state of the sources that this program was made from; left out: as they stand. */
  graph?: ModuleGraph;
  /** Left out: one for each core. */
  threads?: number;
  /** Threads that stand already; whoever opened them closes them. */
  pool?: PageThreads | null;
  /** For the live view: without what only a published site needs, and styles do not make pages anew. */
  quick?: boolean;
  /** Computes what the store holds too, on this thread, and stops where it is told no. */
  rehearses?: () => boolean;
}

/**
 * Records and stored measurements to the site. What follows from records and measurements that have not changed is taken
 * from the store; a train of which nothing changed is not even read from there.
 *
 * @throws ReportError with the faults of all trains, before anything is written
 */
export async function buildContent(request: BuildRequest): Promise<SiteReport> {
  const { content, outDir, onStep } = request;
  const store = request.storeDir === undefined ? await openStoreFolder(content.dir) : null;
  const storeDir = request.storeDir ?? store?.dir ?? "";
  const { graph = openModuleGraph() } = request;
  const memory =
    request.memory ?? openContentMemory(content.dir, join(storeDir, "records"), Date.now(), graph);
  const software = await nameSoftware();
  const codes = listCodeDigests(graph);
  const keys = makeBuildKeys(content, memory, software, codes);
  const setting: BuildSetting = {
    storeDir,
    decoder: codes.decoder,
    codes: codes.remembered,
    software,
    rehearses: request.rehearses !== undefined,
    content: { dir: content.dir, site: content.site, siteSource: content.siteSource },
  };
  const { quick = false } = request;
  const fits = noteFits(storeDir, codes.fits);
  // Threads know nothing of what this one keeps: they pay where fields are to be fitted anew, or trains are many.
  const staysHere = getResidentMemory() !== null && fits.known && content.trains.length < fewestForThreads;
  const threads = request.rehearses || staysHere ? 1 : request.threads;
  const { pool = null } = request;
  const built = new SiteBuilder(content, keys.trains, setting, {
    threads,
    pool,
    quick,
    fitsKnown: fits.known,
    onStep,
  });
  try {
    if (request.rehearses) await built.rehearse(request.rehearses);
    const comparisons = await built.compare(keys.comparisons);
    if (request.rehearses) await goOn(request.rehearses);
    const siteCode = hashSiteCode(quick, graph);
    const report = await buildPlanned({
      trains: content.trains.map(({ id, tests }) => ({
        id,
        tests,
        key: keys.namePage(id, siteCode, comparisons),
      })),
      comparisons,
      site: content.site,
      outDir,
      onStep,
      quick,
      makeTrains: (ids, into) => built.makeTrains(ids, into),
      checkPages: (root, folders, kept) => built.checkPages(root, folders, kept),
    });
    fits.note();
    return report;
  } finally {
    await built.close();
    await store?.close();
  }
}

/** The last line of a command that built a site: the address to open. */
export function sayAddress(outDir: string): string {
  return `The site is in ${outDir}: open ${pathToFileURL(join(resolve(outDir), "index.html")).href}`;
}
