import { readdir, stat } from "node:fs/promises";
import { join } from "node:path";
import type { Fault } from "../fault.ts";
import { ID_ALLOWED, isSafeId, makeSafeId } from "./name-id.ts";
import { nameSystemError } from "./read-text.ts";

/** The content folder and how messages name it. */
export interface Root {
  /** Absolute. */
  dir: string;
  /** As the user typed it. */
  shown: string;
}

/** A path within the content folder, as messages name it: forward slashes on every system. */
export function showPath(root: Root, name: string): string {
  return join(root.shown, name).replaceAll("\\", "/");
}

export interface FolderList {
  /** Ids, sorted; of files without their ending. */
  ids: string[];
  faults: Fault[];
}

/**
 * The folders in `name` ("trains"), or its files that end in .yaml. Names that begin with a point or an underscore
 * are left alone; names that could not be part of an address, or that differ only in letter case, are faults. A folder
 * that does not exist is empty.
 */
export async function listFolder(root: Root, name: string, want: "folders" | "records"): Promise<FolderList> {
  const faults: Fault[] = [];
  const ids: string[] = [];
  let entries: string[];
  try {
    entries = (await readdir(join(root.dir, name))).sort();
  } catch (error) {
    if (nameSystemError(error) === "ENOENT") return { ids, faults };
    const found = `the system refuses to list it (${nameSystemError(error)})`;
    const allowed = "a folder that may be read";
    const file = showPath(root, name);
    return { ids, faults: [{ code: "records/not-readable", file, found, allowed, fix: "check what it is" }] };
  }
  for (const entry of entries) {
    if (/^[._]/.test(entry)) continue;
    const path = `${name}/${entry}`;
    const isFolder = await checkFolder(join(root.dir, path));
    if (isFolder !== (want === "folders")) continue;
    if (want === "records" && !/\.ya?ml$/i.test(entry)) continue;
    const id = want === "records" ? entry.replace(/\.ya?ml$/i, "") : entry;
    const fault = checkName(root, path, entry, id, ids, want);
    if (fault !== null) faults.push(fault);
    else ids.push(id);
  }
  return { ids, faults };
}

async function checkFolder(path: string): Promise<boolean | null> {
  try {
    return (await stat(path)).isDirectory();
  } catch {
    return null;
  }
}

function checkName(
  root: Root,
  path: string,
  entry: string,
  id: string,
  taken: readonly string[],
  want: "folders" | "records",
): Fault | null {
  const file = showPath(root, path);
  const twin = taken.find((other) => other.toLowerCase() === id.toLowerCase());
  if (twin !== undefined) {
    return {
      code: "records/duplicate-id",
      file,
      found: twin === id ? `${id} for the second time` : `${id} beside ${twin}, the same but for letter case`,
      allowed: "names that differ by more than letter case or ending: they become addresses and folders",
      fix: "rename one of the two",
    };
  }
  if (!isSafeId(id)) {
    const safe = makeSafeId(id);
    return {
      code: "records/unsafe-name",
      file,
      found: `the name "${id.slice(0, 60)}"${id.length > 60 ? ` … (${id.length} characters)` : ""}`,
      allowed: ID_ALLOWED,
      fix:
        safe === null
          ? "rename it"
          : `rename it, to ${safe} for instance; the name key may say it as you like`,
    };
  }
  if (want === "records" && !entry.endsWith(".yaml")) {
    const fix = `rename it to ${id}.yaml`;
    return {
      code: "records/unsafe-name",
      file,
      found: entry.slice(0, 60),
      allowed: "a name that ends in .yaml",
      fix,
    };
  }
  return null;
}
