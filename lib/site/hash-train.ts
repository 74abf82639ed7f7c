import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import type { SiteRecord } from "../records/types.ts";
import type { SiteTrain } from "./make-trains.ts";
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
