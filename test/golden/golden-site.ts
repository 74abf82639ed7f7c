import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, utimesSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { siteMarker } from "../../lib/site/output-folder.ts";
import { listSiteFiles } from "../site/sample-site.ts";

const root = resolve(import.meta.dirname, "../..");
const contentDir = join(import.meta.dirname, "content");
export const goldenDir = join(import.meta.dirname, "site");
export const digestFile = join(import.meta.dirname, "digests.json");

/** What is stored of the files that do not stand in `site`: SHA-256 by path, and under which release line of Node. */
export interface GoldenDigests {
  node: string;
  files: Record<string, string>;
}

/** "20" of v20.20.2: numbers of the last digit may differ between release lines, as their sines and powers do. */
export const nodeLine = process.versions.node.split(".")[0];

/**
 * Left out: the marker, which names the code's own state, and the card, which sharp's drawing library rasterises; it
 * promises no equal bytes between machines. What the card shows is tested where it is drawn.
 */
function isCompared(path: string): boolean {
  return path !== siteMarker && !path.endsWith("/card.png");
}

/** Stored word for word, so that a change of the program shows as a change of lines: the train's folder and the site's lists. */
export function isStoredAsText(path: string): boolean {
  if (path.endsWith("-report.html")) return false;
  return path.startsWith("trains/") || /^[^/]+\.(html|json|csv|xml)$/.test(path);
}

/** The golden content under another path, written in the reverse order of its names, with other times. */
export function copyGoldenContent(to: string): void {
  const files = readdirSync(contentDir, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && !entry.parentPath.includes(".cache"))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort()
    .reverse();
  for (const [k, file] of files.entries()) {
    const path = join(to, file.slice(contentDir.length));
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, readFileSync(file));
    const time = new Date(Date.UTC(2024, 1, 29, 12, k));
    utimesSync(path, time, time);
  }
}

/** Builds by the command, in a process of its own; gives back the site's files by path. */
export function buildGolden(content: string, out: string, env: Record<string, string>): Map<string, Buffer> {
  const args = [join(root, "lib/commands/start.mjs"), "build", "--content", content, "--out", out];
  const { status, stderr } = spawnSync(process.execPath, args, {
    cwd: root,
    env: { ...process.env, ...env },
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(stderr);
  return new Map(
    listSiteFiles(out)
      .filter(isCompared)
      .sort()
      .map((path) => [path, readFileSync(join(out, path))]),
  );
}

export function digest(bytes: Buffer): string {
  return createHash("sha256").update(bytes).digest("hex");
}

/** A page's text without the stylesheet, which stands in `templates/styles`: the page's content policy names its digest. */
export function leaveOutStyle(path: string, text: string): string {
  if (!path.endsWith(".html")) return text;
  return text.replace(/<style>[\s\S]*?<\/style>/, "<style></style>");
}
