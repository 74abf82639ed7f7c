import { existsSync, readdirSync } from "node:fs";
import { lstat, mkdir, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { ReportError } from "../fault.ts";

/** Stands in every folder that was written as a site, so that nothing else is ever replaced. */
export const siteMarker = ".rig-report-site";

/** Lists, in a finished folder that is about to be put in place, everything the site will hold. */
const readyList = ".rig-report-ready";

/** Folders whose own folders are exchanged one by one: a page each. */
const collections = ["trains", "comparisons"];

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
 * Makes an empty folder beside `outDir` to write the site into. What an interrupted run left is cleared; an exchange
 * that was interrupted is brought to its end first, or, where it had only begun, taken back.
 */
export async function openPartial(outDir: string): Promise<string> {
  const { partial, previous } = nameSiblings(outDir);
  for (const dir of [partial, previous]) await checkOurs(dir, dir);
  if (!existsSync(outDir) && existsSync(previous)) await rename(previous, outDir);
  await checkOurs(outDir, outDir);
  if (existsSync(outDir) && existsSync(join(partial, readyList))) await exchangeEntries(outDir);
  await rm(previous, { recursive: true, force: true });
  await rm(partial, { recursive: true, force: true });
  await mkdir(partial, { recursive: true });
  await writeFile(join(partial, siteMarker), "\n");
  return partial;
}

/**
 * Puts the finished folder in the place of the old one; until then the old site is untouched. `kept`: folders of the old
 * site that belong to the new one as they are, relative with forward slashes; they are not moved, so that the exchange
 * costs what changed and not what there is.
 */
export async function exchangeFolders(outDir: string, kept: readonly string[] = []): Promise<void> {
  const { partial, previous } = nameSiblings(outDir);
  if (kept.length > 0) {
    const list = join(partial, readyList);
    await writeFile(`${list}.part`, JSON.stringify([...kept, ...listEntries(partial)]));
    // From here on an interrupted exchange is brought to its end by the next run.
    await rename(`${list}.part`, list);
    await exchangeEntries(outDir);
  } else {
    if (existsSync(outDir)) await rename(outDir, previous);
    await rename(partial, outDir);
  }
  await rm(previous, { recursive: true, force: true });
  await rm(partial, { recursive: true, force: true });
}

/** What is exchanged as one: files and folders at the root, and the folders within collections. */
function listEntries(dir: string): string[] {
  return readdirSync(dir).flatMap((name) => {
    if (name.startsWith(readyList)) return [];
    if (!collections.includes(name)) return [name];
    return readdirSync(join(dir, name)).map((inner) => `${name}/${inner}`);
  });
}

/** Can be begun again at any point where it was interrupted. */
async function exchangeEntries(outDir: string): Promise<void> {
  const { partial, previous } = nameSiblings(outDir);
  const whole = new Set(JSON.parse(await readFile(join(partial, readyList), "utf8")) as string[]);
  await mkdir(previous, { recursive: true });
  // Both folders stay ours whatever happens; a site whose list is empty is one from which nothing is taken over.
  if (existsSync(join(partial, siteMarker))) await writeFile(join(outDir, siteMarker), "\n");
  await writeFile(join(previous, siteMarker), "\n");
  for (const name of collections) {
    await mkdir(join(previous, name), { recursive: true });
    if ([...whole].some((entry) => entry.startsWith(`${name}/`)))
      await mkdir(join(outDir, name), { recursive: true });
  }
  const setAside = async (entry: string) => {
    if (existsSync(join(outDir, entry))) await rename(join(outDir, entry), join(previous, entry));
  };
  for (const entry of listEntries(outDir)) if (!whole.has(entry)) await setAside(entry);
  for (const entry of listEntries(partial)) {
    if (entry === siteMarker) continue;
    await setAside(entry);
    await rename(join(partial, entry), join(outDir, entry));
  }
  for (const name of collections) {
    if (![...whole].some((entry) => entry.startsWith(`${name}/`)))
      await rm(join(outDir, name), { recursive: true, force: true });
  }
  if (existsSync(join(partial, siteMarker)))
    await rename(join(partial, siteMarker), join(outDir, siteMarker));
  await rm(join(partial, readyList), { force: true });
}

/** Takes the unfinished folder away after a failure. */
export async function dropPartial(outDir: string): Promise<void> {
  const { partial } = nameSiblings(outDir);
  if (!existsSync(join(partial, readyList))) await rm(partial, { recursive: true, force: true });
}
