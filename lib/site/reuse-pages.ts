import { createHash } from "node:crypto";
import { copyFile, link, mkdir, readdir, readFile, stat, writeFile } from "node:fs/promises";
import { join } from "node:path";
import type { SiteRecord } from "../records/types.ts";
import type { SiteTrain } from "./build-site.ts";
import { siteMarker } from "./output-folder.ts";
import { listCrops } from "./write-crops.ts";

/**
 * Digest of everything a train's folder is made from: results, site record, code and templates, and the content of its
 * cut-outs. A page is taken over only where all of it is the same.
 */
export async function hashTrain(train: SiteTrain, site: SiteRecord, code: string): Promise<string> {
  const hash = createHash("sha256")
    .update(code)
    .update(JSON.stringify(site))
    .update(JSON.stringify(train.results));
  for (const { from } of listCrops(train.results, train.cropDirs)) {
    hash.update((await readFile(from).catch(() => null)) ?? "missing");
  }
  return hash.digest("hex");
}

/** Digests of the trains of the site that stands in a folder; none where there is no site. */
export async function readSiteKeys(outDir: string): Promise<Map<string, string>> {
  const text = await readFile(join(outDir, siteMarker), "utf8").catch(() => "");
  const lines = text.split("\n").map((line) => line.split(" "));
  return new Map(lines.filter((parts) => parts.length === 2).map(([key, id]) => [id, key]));
}

/** Written last: a site without it was not finished, and nothing is taken over from it. */
export async function writeSiteKeys(outDir: string, keys: ReadonlyMap<string, string>): Promise<void> {
  const lines = [...keys].map(([id, key]) => `${key} ${id}\n`);
  await writeFile(join(outDir, siteMarker), lines.join(""));
}

export async function listReusable(
  keys: ReadonlyMap<string, string>,
  standing: ReadonlyMap<string, string>,
  outDir: string,
): Promise<Set<string>> {
  const reusable = new Set<string>();
  for (const [id, key] of keys) {
    if (standing.get(id) !== key) continue;
    if (await stat(join(outDir, "trains", id, "index.html")).catch(() => null)) reusable.add(id);
  }
  return reusable;
}

/** Brings a train's folder over as links to the same files, or as copies where the disk knows no links. */
export async function reuseTrain(outDir: string, partial: string, id: string): Promise<void> {
  await linkFolder(join(outDir, "trains", id), join(partial, "trains", id));
}

async function linkFolder(from: string, to: string): Promise<void> {
  await mkdir(to, { recursive: true });
  for (const entry of await readdir(from, { withFileTypes: true })) {
    const [source, target] = [join(from, entry.name), join(to, entry.name)];
    if (entry.isDirectory()) await linkFolder(source, target);
    else if (entry.isFile()) await link(source, target).catch(() => copyFile(source, target));
  }
}
