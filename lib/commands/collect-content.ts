import { readdir, readFile, realpath } from "node:fs/promises";
import { join, relative, sep } from "node:path";
import type { Content } from "../records/types.ts";
import type { BagFile } from "./bag.ts";

/** Frames are not part of a bundle: what was measured stands for them. */
const frameFiles = /\.(fits?|fts|fz|tiff?|gz|xisf|dng|raw)$/i;

/** Ids of the trains that a train's page rests on: itself, and those that it is compared with. */
export function listRelated(content: Content, id: string): { trains: string[]; comparisons: string[] } {
  const own = content.comparisons.filter(({ record }) => record.a.train === id || record.b.train === id);
  const trains = new Set([id, ...own.flatMap(({ record }) => [record.a.train, record.b.train])]);
  return { trains: [...trains].sort(), comparisons: own.map(({ source }) => source.file) };
}

/** Every file below a folder but hidden ones and frames; links that lead out of the content folder are left out. */
async function collectFolder(root: string, dir: string): Promise<BagFile[]> {
  const files: BagFile[] = [];
  for (const entry of await readdir(dir, { withFileTypes: true }).catch(() => [])) {
    const path = join(dir, entry.name);
    if (entry.name.startsWith(".") || entry.name === "frames") continue;
    if (entry.isDirectory()) files.push(...(await collectFolder(root, path)));
    else if (!frameFiles.test(entry.name)) {
      const real = await realpath(path).catch(() => null);
      if (real === null || !real.startsWith(root + sep)) continue;
      files.push({ path: relative(root, path).replaceAll("\\", "/"), bytes: await readFile(path) });
    }
  }
  return files;
}

/**
 * The part of a content folder that a train's page is made from: site record, parts, the train's own folder with
 * measurements and cut-outs, its comparisons, and the trains that it is compared with. By path, relative to the folder.
 */
export async function collectContent(content: Content, id: string): Promise<BagFile[]> {
  const root = await realpath(content.dir);
  const { trains, comparisons } = listRelated(content, id);
  const files: BagFile[] = [];
  if (content.siteSource !== null)
    files.push({ path: content.siteSource.file, bytes: await readFile(join(root, content.siteSource.file)) });
  files.push(...(await collectFolder(root, join(root, "parts"))));
  for (const train of trains) files.push(...(await collectFolder(root, join(root, "trains", train))));
  for (const file of comparisons) {
    files.push({ path: file, bytes: await readFile(join(root, file)) });
    // What was measured for the comparison lies in a folder or file of its name.
    const stem = file.replace(/\.ya?ml$/i, "");
    files.push(...(await collectFolder(root, join(root, stem))));
    for (const kind of [".json", ".measured.json"]) {
      const bytes = await readFile(join(root, `${stem}${kind}`)).catch(() => null);
      if (bytes !== null) files.push({ path: `${stem}${kind}`, bytes });
    }
  }
  return files.sort((a, b) => (a.path < b.path ? -1 : 1));
}
