import { cpSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import {
  decodeBagPath,
  encodeBagPath,
  makeManifest,
  makeTagFiles,
  parseManifest,
} from "../../lib/commands/bag.ts";
import { buildFolder } from "../../lib/commands/build-folder.ts";
import { checkBundle, makeBundle } from "../../lib/commands/bundle.ts";
import { ReportError } from "../../lib/fault.ts";
import { listSiteFiles } from "../site/sample-site.ts";
import { listStarContent, writeOld, writeStarContent } from "./star-content.ts";

let scratch: string;
let bundle: string;

beforeAll(async () => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-bundle-test-"));
  const content = join(scratch, "content");
  writeStarContent(content, listStarContent({ trains: 3, stars: 40 }));
  writeOld(
    join(content, "comparisons/zero-and-one.yaml"),
    "name: Zero against one\na: { train: tarn-80-0 }\nb: { train: tarn-80-1 }\n",
  );
  writeOld(join(content, "trains/tarn-80-0/tests/2026-10-03/frames/field-1.fits"), "light");
  await buildFolder(content, join(scratch, "site"), () => {}, { threads: 1 });
  bundle = join(scratch, "bundle");
  await makeBundle(content, "tarn-80-0", bundle, () => {});
  // Another machine has nothing but the bundle.
  renameSync(content, join(scratch, "gone"));
  const elsewhere = join(mkdtempSync(join(scratch, "elsewhere-")), "kept for years");
  cpSync(bundle, elsewhere, { recursive: true });
  bundle = elsewhere;
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

async function listFaults(dir: string): Promise<string[]> {
  const error = await checkBundle(dir, () => {}).then(
    () => null,
    (reason: unknown) => reason,
  );
  if (error === null) return [];
  if (!(error instanceof ReportError)) throw new Error("a ReportError was expected", { cause: error });
  return error.faults.map(({ code, file, found }) => `${code}: ${file.replace(`${dir}/`, "")}: ${found}`);
}

describe("a bundle", () => {
  it("holds the train, the one it is compared with, the page and no frame", () => {
    const files = listSiteFiles(bundle);
    expect(files).toEqual(
      expect.arrayContaining([
        "bagit.txt",
        "bag-info.txt",
        "manifest-sha256.txt",
        "tagmanifest-sha256.txt",
        "data/content/site.yaml",
        "data/content/comparisons/zero-and-one.yaml",
        "data/content/trains/tarn-80-0/tests/2026-10-03/stars.csv",
        "data/content/trains/tarn-80-1/train.yaml",
        "data/site/trains/tarn-80-0/index.html",
        "data/site/trains/tarn-80-0/results.json",
      ]),
    );
    expect(files.filter((path) => /tarn-80-2|\.fits$/.test(path))).toEqual([]);
  });

  it("rebuilds, with the content folder gone, the very bytes of the page that was published", async () => {
    expect(await listFaults(bundle)).toEqual([]);
    for (const name of ["index.html", "results.json", "tarn-80-0-report.html"]) {
      const published = readFileSync(join(scratch, "site/trains/tarn-80-0", name));
      expect(published.equals(readFileSync(join(bundle, "data/site/trains/tarn-80-0", name)))).toBe(true);
    }
  });

  it("states its payload as bytes and files, and the day of SOURCE_DATE_EPOCH or today's", () => {
    const info = readFileSync(join(bundle, "bag-info.txt"), "utf8");
    const payload = listSiteFiles(bundle).filter((path) => path.startsWith("data/"));
    const bytes = payload.reduce((sum, path) => sum + readFileSync(join(bundle, path)).length, 0);
    expect(info).toContain(`Payload-Oxum: ${bytes}.${payload.length}\n`);
    expect(info).toMatch(/^Bagging-Date: \d{4}-\d\d-\d\d$/m);
    expect(info).toContain("External-Identifier: https://fellside.example/reports/trains/tarn-80-0/");
  });

  it("names every file that was changed, lost or added, and every changed tag file", async () => {
    const spoilt = join(scratch, "spoilt");
    cpSync(bundle, spoilt, { recursive: true });
    writeFileSync(join(spoilt, "data/content/site.yaml"), "title: Other\n");
    rmSync(join(spoilt, "data/site/index.html"));
    writeFileSync(join(spoilt, "data/new.txt"), "new");
    writeFileSync(join(spoilt, "bag-info.txt"), "Contact-Name: Somebody\n");
    expect(await listFaults(spoilt)).toEqual([
      "bundle/not-whole: bag-info.txt: other content than when the bundle was made",
      "bundle/not-whole: data/content/site.yaml: other content than when the bundle was made",
      "bundle/not-whole: data/site/index.html: no such file",
      "bundle/not-whole: data/new.txt: a file that the manifest does not list",
    ]);
    expect(await listFaults(scratch)).toEqual(["bundle/not-whole: bagit.txt: no declaration of a bag"]);
  });

  it("says which page is not what its records give, though every digest is right", async () => {
    const forged = join(scratch, "forged");
    cpSync(bundle, forged, { recursive: true });
    const page = join(forged, "data/site/trains/tarn-80-0/index.html");
    writeFileSync(page, readFileSync(page, "utf8").replace("Tarnlight 80", "Tarnlight 90"));
    const payload = listSiteFiles(forged)
      .filter((path) => path.startsWith("data/"))
      .map((path) => ({ path, bytes: readFileSync(join(forged, path)) }));
    for (const { path, bytes } of makeTagFiles(payload, [])) writeFileSync(join(forged, path), bytes);
    expect(await listFaults(forged)).toEqual([
      "bundle/other-pages: data/site: trains/tarn-80-0/index.html differs from what the records and measurements give",
    ]);
  });

  it("is never written over another folder, and names the trains where one is not known", async () => {
    const gone = join(scratch, "gone");
    for (const [train, code] of [
      ["tarn-80-0", "bundle/exists"],
      ["tarn-8", "bundle/unknown-train"],
    ]) {
      const error = await makeBundle(gone, train, bundle, () => {}).catch((reason: unknown) => reason);
      expect(error instanceof ReportError && error.faults[0].code).toBe(code);
    }
  });
});

describe("a manifest", () => {
  it("carries names with a percent sign and a line break as RFC 8493 has them, and back", () => {
    const path = "data/100 % dark\nframe.csv";
    expect(encodeBagPath(path)).toBe("data/100 %25 dark%0Aframe.csv");
    expect(decodeBagPath(encodeBagPath(path))).toBe(path);
    const sha256 = "ab".repeat(32);
    expect(parseManifest(makeManifest([{ path, sha256 }])).files).toEqual(new Map([[path, sha256]]));
  });

  it("refuses paths that lead out of the bag, and lines that are none", () => {
    const digest = "0".repeat(64);
    const lines = ["../x", "data/../../x", "/etc/hosts", "~/x", "data\\x"].map(
      (path) => `${digest}  ${path}`,
    );
    expect(parseManifest([...lines, "data/x"].join("\n"))).toEqual({
      files: new Map(),
      strange: [...lines, "data/x"],
    });
  });
});
