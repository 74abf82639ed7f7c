import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { resolve, sep } from "node:path";
import type { SiteRecord } from "../records/types.ts";
import type { SiteTrain } from "./make-trains.ts";
import { planSheets } from "./write-sheets.ts";

/**
 * Digest of everything a train's folder is made from: results, site record, code and templates, and the content of its
 * cut-outs. A page is taken over only where all of it is the same.
 */
export async function hashTrain(train: SiteTrain, site: SiteRecord, code: string): Promise<string> {
  const hash = createHash("sha256")
    .update(code)
    .update(JSON.stringify(site))
    .update(JSON.stringify(train.results));
  for (const crop of planSheets(train.results, train.cropDirs).flatMap(({ crops }) => crops))
    hash.update((crop && (await readFile(crop.from).catch(() => null))) ?? "missing");
  for (const path of listPhotoFiles(train))
    hash.update((await readFile(path).catch(() => null)) ?? "missing");
  return hash.digest("hex");
}

/** Files that the review names as pictures, below the train's folder; those elsewhere are refused when the page is made. */
function listPhotoFiles({ results, dir }: SiteTrain): string[] {
  if (dir === undefined || results.page.reviewMarkdown === null) return [];
  const named = [...results.page.reviewMarkdown.matchAll(/!\[[^\]\n]*\]\(\s*<?([^)>\n"]+)/g)];
  const paths = named.flatMap(([, path]) => [path.trim(), path.trim().replaceAll("%20", " ")]);
  return [...new Set(paths)].map((path) => resolve(dir, path)).filter((path) => path.startsWith(dir + sep));
}
