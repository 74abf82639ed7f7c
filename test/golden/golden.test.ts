import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { listSiteFiles } from "../site/sample-site.ts";
import {
  buildGolden,
  copyGoldenContent,
  digest,
  digestFile,
  type GoldenDigests,
  goldenDir,
  leaveOutStyle,
  nodeLine,
} from "./golden-site.ts";

const stored = JSON.parse(readFileSync(digestFile, "utf8")) as GoldenDigests;
let scratch: string;
let built: Map<string, Buffer>;

beforeAll(() => {
  scratch = mkdtempSync(join(tmpdir(), "rig report, golden ä-"));
  copyGoldenContent(join(scratch, "content"));
  built = buildGolden(join(scratch, "content"), join(scratch, "site"), {
    TZ: "Pacific/Kiritimati",
    LANG: "tr_TR.UTF-8",
    LC_ALL: "tr_TR.UTF-8",
    SOURCE_DATE_EPOCH: "86400",
  });
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** Numbers to nine digits, and digests, which change with any digit, as one word. */
function round(text: string): string {
  return text
    .replace(/\b[0-9a-f]{64}\b/g, "SHA-256")
    .replace(/-?\d+\.\d{6,}(?:e[-+]?\d+)?/g, (number) => Number(number).toPrecision(9));
}

/** `npm run golden` stores the site anew after a change that is meant. */
describe("the site of one train with one test of sixty stars, against its golden copy", () => {
  it("holds the same files", () => {
    expect([...built.keys()]).toEqual(Object.keys(stored.files).sort());
  });

  it("holds the same text in the train's folder and in the site's lists: byte for byte under the same line of Node, to nine digits under others", () => {
    const paths = listSiteFiles(goldenDir);
    expect(paths.length).toBeGreaterThan(30);
    const same = nodeLine === stored.node ? (text: string) => text : round;
    for (const path of paths) {
      const now = leaveOutStyle(path, built.get(path)?.toString("utf8") ?? "");
      expect(same(now), path).toBe(same(readFileSync(join(goldenDir, path), "utf8")));
    }
  });

  it("holds the same bytes in scripts, styles, typefaces and schemas, and in every other file under the same line of Node", () => {
    const fixed = Object.entries(stored.files).filter(
      ([path]) => nodeLine === stored.node || /^(assets\/(?!search)|schema\/)/.test(path),
    );
    expect(fixed.length).toBeGreaterThan(10);
    const changed = fixed.filter(([path, sha256]) => digest(built.get(path) ?? Buffer.of()) !== sha256);
    expect(changed.map(([path]) => path)).toEqual([]);
  });
});
