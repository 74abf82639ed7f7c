import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { glob } from "tinyglobby";
import type { Fault } from "../fault.ts";
import { type BagManifest, parseManifest } from "./bag.ts";

const manifestName = "manifest-sha256.txt";
const tagManifestName = "tagmanifest-sha256.txt";

function fault(file: string, found: string, allowed: string): Fault {
  return {
    code: "bundle/not-whole",
    file,
    found,
    allowed,
    fix: "fetch the bundle again from where it is kept whole, or make it anew from the content folder",
  };
}

async function readTag(dir: string, name: string): Promise<string | null> {
  return readFile(join(dir, name), "utf8").catch(() => null);
}

/** Files that a manifest lists and that are missing or other than it says. */
async function checkListed(dir: string, manifest: BagManifest): Promise<Fault[]> {
  const faults: Fault[] = [];
  for (const [path, digest] of manifest.files) {
    const bytes = await readFile(join(dir, path)).catch(() => null);
    if (bytes === null)
      faults.push(fault(join(dir, path), "no such file", "every file that the manifest lists"));
    else if (createHash("sha256").update(bytes).digest("hex") !== digest)
      faults.push(fault(join(dir, path), "other content than when the bundle was made", `SHA-256 ${digest}`));
  }
  return faults;
}

async function checkOxum(dir: string, payload: readonly string[]): Promise<Fault[]> {
  const info = (await readTag(dir, "bag-info.txt")) ?? "";
  const said = /^Payload-Oxum:\s*(\d+)\.(\d+)\s*$/im.exec(info);
  if (said === null) return [];
  let bytes = 0;
  for (const path of payload) bytes += (await readFile(join(dir, path))).length;
  if (bytes === Number(said[1]) && payload.length === Number(said[2])) return [];
  const found = `${bytes} bytes in ${payload.length} files`;
  return [fault(join(dir, "data"), found, `${said[1]} bytes in ${said[2]} files, as bag-info.txt says`)];
}

/** Whether a folder is a whole BagIt bag of version 1.0 with SHA-256 manifests; every fault, none when it is. */
export async function checkBag(dir: string): Promise<Fault[]> {
  const declared = await readTag(dir, "bagit.txt");
  const manifestText = await readTag(dir, manifestName);
  if (
    declared === null ||
    !/^BagIt-Version: \d+\.\d+\s+Tag-File-Character-Encoding: UTF-8\s*$/.test(declared)
  )
    return [fault(join(dir, "bagit.txt"), "no declaration of a bag", "a bundle made by  npm run bundle")];
  if (manifestText === null)
    return [fault(join(dir, manifestName), "no such file", "a manifest of the payload")];
  const manifest = parseManifest(manifestText);
  const tags = parseManifest((await readTag(dir, tagManifestName)) ?? "");
  const faults = [...manifest.strange, ...tags.strange].map((line) =>
    fault(
      join(dir, manifestName),
      `the line ${JSON.stringify(line.slice(0, 100))}`,
      "a digest and a path within the bundle",
    ),
  );
  faults.push(...(await checkListed(dir, tags)), ...(await checkListed(dir, manifest)));
  const payload = await glob("data/**", { cwd: dir, dot: true, onlyFiles: true, expandDirectories: false });
  for (const path of payload.sort()) {
    if (!manifest.files.has(path))
      faults.push(
        fault(join(dir, path), "a file that the manifest does not list", "the files it lists and no other"),
      );
  }
  if (faults.length === 0) faults.push(...(await checkOxum(dir, payload)));
  return faults;
}
