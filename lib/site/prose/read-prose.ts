import { join, relative } from "node:path";
import type { TrainResults } from "../../report/results.ts";
import { listPhotos } from "./list-photos.ts";
import type { ReadProse } from "./make-prose.ts";
import { parseProse } from "./parse-prose.ts";
import { writePhotos } from "./write-photos.ts";

/** The review as messages name it: as the user would type it. */
function nameReview(results: TrainResults, trainDir: string | undefined): string {
  if (trainDir === undefined) return `trains/${results.id}/review.md`;
  return relative(process.cwd(), join(trainDir, "review.md")).replaceAll("\\", "/");
}

/**
 * Reads a train's review and writes its photos into the train's folder on the site; null where there is no review. Faults are in
 * `parsed.faults`.
 */
export async function readProse(
  results: TrainResults,
  trainDir: string | undefined,
  siteDir: string,
): Promise<ReadProse | null> {
  const text = results.page.reviewMarkdown;
  if (text === null || text.trim() === "") return null;
  const parsed = parseProse(results, text, nameReview(results, trainDir));
  const photos = listPhotos(parsed);
  if (photos.length === 0) return { parsed, photos: new Map() };
  if (trainDir === undefined) {
    const { place, file } = photos[0];
    parsed.faults.add(
      "photo-missing",
      place,
      file,
      "a photo of a train whose records are at hand",
      "take the photo out",
    );
    return { parsed, photos: new Map() };
  }
  return { parsed, photos: await writePhotos(photos, trainDir, siteDir, parsed.faults) };
}
