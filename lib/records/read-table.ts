import { realpath, stat } from "node:fs/promises";
import { isAbsolute, join, relative } from "node:path";
import type { Fault } from "../fault.ts";
import { isInside } from "./check-test.ts";
import { type Root, showPath } from "./read-folder.ts";
import { largestTableBytes, readText } from "./read-text.ts";
import type { RecordDocument } from "./record-document.ts";

export interface TableRead {
  text: string | null;
  fault: Fault | null;
}

/**
 * The text of a table that a test names; null without a fault where none is named, or where a star table is gone but was
 * measured before.
 */
export async function readTable(
  { root, folder, document }: { root: Root; folder: string; document: RecordDocument },
  key: "starTable" | "guiding" | "wind",
  named: { file: string } | null,
): Promise<TableRead> {
  if (named === null) return { text: null, fault: null };
  const { file } = named;
  const path = join(root.dir, folder, file);
  const name = `${folder}/${file}`;
  const at = { ...document.locate([key, "file"], "value"), key: `${key}.file`, file: document.file };
  const resolved = await realpath(path).catch(() => null);
  if (resolved === null) {
    const wasMeasured =
      key === "starTable" && (await stat(join(root.dir, folder, "measured.json")).catch(() => null)) !== null;
    if (wasMeasured) return { text: null, fault: null };
    const found = `no file ${file.slice(0, 80)} beside this record`;
    const fix = "copy the table there, or mend its name";
    const allowed = "a CSV file that exists";
    const code = key === "starTable" ? "records/star-table-missing" : "records/log-missing";
    return { text: null, fault: { code, ...at, found, allowed, fix } };
  }
  const fromRoot = relative(await realpath(root.dir), resolved);
  if (fromRoot.startsWith("..") || isAbsolute(fromRoot) || !isInside(folder, file)) {
    const found = "a link to a file outside the content folder";
    const fix = "copy the file beside test.yaml";
    return {
      text: null,
      fault: { code: "records/contradiction", ...at, found, allowed: "a file inside it", fix },
    };
  }
  const read = await readText(path, name, showPath(root, name), largestTableBytes);
  return { text: read.source?.text ?? null, fault: read.fault };
}
