import { createHash } from "node:crypto";

/** A file of a bag: its path from the bag's root, with forward slashes. */
export interface BagFile {
  path: string;
  bytes: Uint8Array;
}

const sha256 = (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");

/** Signs that would break a line of a manifest are written as percent signs with their code (RFC 8493, 2.1.3). */
export function encodeBagPath(path: string): string {
  return path.replace(
    /[%\r\n]/g,
    (sign) => `%${sign.charCodeAt(0).toString(16).toUpperCase().padStart(2, "0")}`,
  );
}

export function decodeBagPath(path: string): string {
  return path.replace(/%(25|0D|0A)/gi, (_, code: string) => String.fromCharCode(Number.parseInt(code, 16)));
}

/** Lines of a manifest: digest, two spaces, path; by path. */
export function makeManifest(files: readonly { path: string; sha256: string }[]): string {
  return [...files]
    .sort((a, b) => (a.path < b.path ? -1 : 1))
    .map((file) => `${file.sha256}  ${encodeBagPath(file.path)}\n`)
    .join("");
}

export interface BagManifest {
  files: Map<string, string>;
  /** Lines that are none of a manifest's. */
  strange: string[];
}

export function parseManifest(text: string): BagManifest {
  const files = new Map<string, string>();
  const strange: string[] = [];
  for (const line of text.split(/\r\n|\n|\r/)) {
    if (line === "") continue;
    const match = /^([0-9a-f]{64})[ \t]+\*?(.+)$/i.exec(line);
    const path = match === null ? null : decodeBagPath(match[2]);
    if (match === null || path === null || /(^|\/)\.\.?(\/|$)|^\/|^~|\\/.test(path)) strange.push(line);
    else files.set(path, match[1].toLowerCase());
  }
  return { files, strange };
}

/** Long values go on in the next line, which begins with a space (RFC 8493, 2.2.2: lines of at most 79 signs are advised). */
function writeInfo(info: readonly [string, string][]): string {
  return info.map(([label, value]) => `${label}: ${value.replace(/\s+/g, " ").trim()}\n`).join("");
}

/** Payload-Oxum: bytes and number of files of the payload. */
export function sayOxum(payload: readonly { bytes: { length: number } }[]): string {
  return `${payload.reduce((sum, { bytes }) => sum + bytes.length, 0)}.${payload.length}`;
}

/**
 * The tag files of a BagIt bag (RFC 8493, version 1.0) around a payload whose paths begin with `data/`: declaration, facts,
 * and SHA-256 manifests of payload and tag files.
 *
 * @param info - labels and values of bag-info.txt; Payload-Oxum is added
 */
export function makeTagFiles(payload: readonly BagFile[], info: readonly [string, string][]): BagFile[] {
  const encode = (path: string, text: string): BagFile => ({ path, bytes: Buffer.from(text, "utf8") });
  const digest = (file: BagFile) => ({ path: file.path, sha256: sha256(file.bytes) });
  const tags = [
    encode("bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"),
    encode("bag-info.txt", writeInfo([...info, ["Payload-Oxum", sayOxum(payload)]])),
    encode("manifest-sha256.txt", makeManifest(payload.map(digest))),
  ];
  return [...tags, encode("tagmanifest-sha256.txt", makeManifest(tags.map(digest)))];
}
