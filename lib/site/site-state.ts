import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { siteMarker } from "./output-folder.ts";
import type { TrainSummary } from "./train-summary.ts";

/** What is known of a train's folder on a site: the digest of all it was made from, and what other pages say of it. */
export interface StandingTrain {
  key: string;
  summary: TrainSummary;
}

/** The trains of the site that stands in a folder, by id; none where there is no whole site of this form. */
export async function readSiteState(outDir: string): Promise<Map<string, StandingTrain>> {
  const text = await readFile(join(outDir, siteMarker), "utf8").catch(() => "");
  try {
    const listed = text
      .split("\n")
      .filter((line) => line !== "")
      .map((line) => JSON.parse(line) as StandingTrain);
    return new Map(
      listed.filter(({ key, summary }) => key && summary).map((train) => [train.summary.id, train]),
    );
  } catch {
    return new Map();
  }
}

/** Written last: nothing is taken over from a site without it. */
export async function writeSiteState(dir: string, trains: readonly StandingTrain[]): Promise<void> {
  await writeFile(join(dir, siteMarker), `${trains.map((train) => `${JSON.stringify(train)}\n`).join("")}\n`);
}
