import { existsSync } from "node:fs";
import { lstat, mkdir, readdir, rename, rm, writeFile } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { ReportError } from "../fault.ts";

/** Stands in every folder that was written as a site, so that nothing else is ever replaced. */
export const siteMarker = ".rig-report-site";

/** Folders beside the site: the one being written, and the old one for the moment of the exchange. */
function nameSiblings(outDir: string): { partial: string; previous: string } {
  const path = resolve(outDir);
  const beside = (word: string) => join(dirname(path), `.${basename(path)}-${word}.tmp`);
  return { partial: beside("partial"), previous: beside("previous") };
}

function refuse(outDir: string, found: string): never {
  throw new ReportError([
    {
      code: "site/foreign-folder",
      file: outDir,
      found,
      allowed: "a folder that does not exist yet, is empty, or holds a site written before",
      fix: "name another folder with --out, or move what is in this one away",
    },
  ]);
}

async function checkOurs(dir: string, named: string): Promise<void> {
  const kind = await lstat(dir).catch(() => null);
  if (kind === null) return;
  if (!kind.isDirectory()) refuse(named, "a file or a link, not a folder");
  const names = await readdir(dir);
  if (names.length > 0 && !names.includes(siteMarker)) {
    refuse(
      named,
      `a folder with other things in it (${names.slice(0, 3).join(", ")}${names.length > 3 ? ", …" : ""})`,
    );
  }
}

/**
 * Makes an empty folder beside `outDir` to write the site into. What an interrupted run left is cleared, and an old
 * site that was caught in the middle of an exchange is put back first.
 */
export async function openPartial(outDir: string): Promise<string> {
  const { partial, previous } = nameSiblings(outDir);
  for (const dir of [partial, previous]) await checkOurs(dir, dir);
  if (!existsSync(outDir) && existsSync(previous)) await rename(previous, outDir);
  await checkOurs(outDir, outDir);
  await rm(previous, { recursive: true, force: true });
  await rm(partial, { recursive: true, force: true });
  await mkdir(partial, { recursive: true });
  await writeFile(join(partial, siteMarker), "\n");
  return partial;
}

/** Puts the finished folder in the place of the old one; until then the old site is untouched. */
export async function exchangeFolders(outDir: string): Promise<void> {
  const { partial, previous } = nameSiblings(outDir);
  if (existsSync(outDir)) await rename(outDir, previous);
  await rename(partial, outDir);
  await rm(previous, { recursive: true, force: true });
}

/** Takes the unfinished folder away after a failure. */
export async function dropPartial(outDir: string): Promise<void> {
  await rm(nameSiblings(outDir).partial, { recursive: true, force: true });
}
