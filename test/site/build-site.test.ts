import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import { buildSite } from "../../lib/site/build-site.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";
import {
  listSiteFiles,
  makeSampleFolder,
  makeSampleTrains,
  readPage,
  removeSampleFolders,
  sampleSite,
} from "./sample-site.ts";

afterAll(removeSampleFolders);

const readAll = (dir: string) =>
  Object.fromEntries(
    listSiteFiles(dir).map((path) => [path, readFileSync(join(dir, path)).toString("base64")]),
  );

async function listCodes(work: Promise<unknown>): Promise<string[]> {
  const error = await work.then(
    () => null,
    (reason: unknown) => reason,
  );
  if (!(error instanceof ReportError)) throw new Error("a ReportError was expected", { cause: error });
  return error.faults.map(({ code }) => code);
}

describe("buildSite", () => {
  it("writes the files that the contract names, and each figure and table with its own", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    await buildSite({ trains: await makeSampleTrains(dir), site: sampleSite, outDir });
    const files = listSiteFiles(outDir);
    expect(files).toEqual(
      expect.arrayContaining([
        "index.html",
        "index.json",
        "trains.csv",
        "methods/index.html",
        "assets/fonts/report-serif.woff2",
        "assets/report.js",
        "trains/tarn-115-reduced/index.html",
        "trains/tarn-115-reduced/results.json",
        "trains/tarn-115-reduced/records/train.yaml",
        "trains/tarn-115-reduced/tables/tbl-back-focus.csv",
        "trains/tarn-115-reduced/tables/tbl-zones-2026-10-03.csv",
        "trains/tarn-115-reduced/tests/2026-10-03/cut-outs.png",
        "trains/tarn-115-reduced/tests/2026-10-03/cut-outs-measured.png",
      ]),
    );
    const list = JSON.parse(readPage(outDir, "index.json")) as {
      trains: { page: string; results: string }[];
    };
    expect(list.trains).toHaveLength(3);
    for (const { page, results } of list.trains) {
      expect(files).toContain(page);
      expect(JSON.parse(readPage(outDir, results))).toMatchObject({ format: "rig-report-results/1" });
    }
    const figures = files.filter((path) => path.endsWith(".svg"));
    expect(figures.length).toBeGreaterThan(5);
    for (const figure of figures) expect(files).toContain(figure.replace(/svg$/, "csv"));
  });

  it("writes the same bytes twice, into folders of different names", async () => {
    const dir = makeSampleFolder();
    const trains = await makeSampleTrains(dir);
    for (const name of ["one", "deeper/two"]) {
      mkdirSync(dirname(join(dir, name)), { recursive: true });
      await buildSite({ trains, site: sampleSite, outDir: join(dir, name) });
    }
    expect(readAll(join(dir, "deeper/two"))).toEqual(readAll(join(dir, "one")));
  });

  it("takes over unchanged pages and gives the bytes of a build from nothing", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    const before = makeSampleResults();
    await buildSite({ trains: await makeSampleTrains(dir, before), site: sampleSite, outDir });
    const after = makeSampleResults();
    after[1].findings = [{ level: "note", sentence: "Looked at again.", evidence: [], action: null }];
    const trains = await makeSampleTrains(dir, after);
    const report = await buildSite({ trains, site: sampleSite, outDir });
    expect(report.reused).toBe(2);
    await buildSite({ trains, site: sampleSite, outDir: join(dir, "fresh") });
    expect(readAll(outDir)).toEqual(readAll(join(dir, "fresh")));
  });

  it("drops the page of a train that is no longer on record", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    const trains = await makeSampleTrains(dir);
    await buildSite({ trains, site: sampleSite, outDir });
    await buildSite({ trains: trains.slice(0, 1), site: sampleSite, outDir });
    expect(readdirSync(join(outDir, "trains"))).toEqual(["tarn-115-reduced"]);
  });

  it("refuses a folder that holds something else and leaves it as it was", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "photos");
    mkdirSync(outDir);
    writeFileSync(join(outDir, "m31.fits"), "light");
    expect(await listCodes(buildSite({ trains: [], site: sampleSite, outDir }))).toEqual([
      "site/foreign-folder",
    ]);
    expect(listSiteFiles(dir)).toEqual(["photos/m31.fits"]);
  });

  it("keeps the previous site and leaves nothing beside it when a page has a dead link", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    const trains = await makeSampleTrains(makeSampleFolder());
    await buildSite({ trains, site: sampleSite, outDir });
    const before = readAll(outDir);
    const broken = makeSampleResults();
    broken[0].page.reviewMarkdown = "See [the other page](other.html) and [nothing](#nowhere).";
    const work = buildSite({ trains: await makeSampleTrains(dir, broken), site: sampleSite, outDir });
    expect(await listCodes(work)).toEqual(["site/dead-link", "site/dead-link"]);
    expect(readAll(outDir)).toEqual(before);
    expect(readdirSync(dir).filter((name) => name.endsWith(".tmp"))).toEqual([]);
  });

  it("puts back a site that an interrupted exchange had moved aside", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    mkdirSync(join(dir, ".site-previous.tmp"));
    writeFileSync(join(dir, ".site-previous.tmp", ".rig-report-site"), "");
    writeFileSync(join(dir, ".site-previous.tmp", "index.html"), "the old page");
    const broken = makeSampleResults();
    broken[0].page.reviewMarkdown = "[nothing](#nowhere)";
    const work = buildSite({ trains: await makeSampleTrains(dir, broken), site: sampleSite, outDir });
    await listCodes(work);
    expect(readPage(outDir, "index.html")).toBe("the old page");
  });

  it("brings an exchange to its end that was interrupted between two folders", async () => {
    const dir = makeSampleFolder();
    const outDir = join(dir, "site");
    const before = makeSampleResults();
    await buildSite({ trains: await makeSampleTrains(dir, before), site: sampleSite, outDir });
    const after = makeSampleResults();
    after[1].findings = [{ level: "note", sentence: "Looked at again.", evidence: [], action: null }];
    const trains = await makeSampleTrains(dir, after);
    await buildSite({ trains, site: sampleSite, outDir: join(dir, "fresh") });
    // As a run leaves it that was cut off after its list was written: one folder set aside, nothing put in its place.
    const partial = join(dir, ".site-partial.tmp");
    cpSync(join(dir, "fresh"), partial, { recursive: true });
    const kept = ["trains/tarn-115-reduced", "trains/tarn-70-colour"];
    for (const folder of kept) rmSync(join(partial, folder), { recursive: true });
    const whole = listSiteFiles(join(dir, "fresh")).map((path) => {
      const parts = path.split("/");
      return parts.slice(0, parts[0] === "trains" ? 2 : 1).join("/");
    });
    writeFileSync(join(partial, ".rig-report-ready"), JSON.stringify([...new Set(whole)]));
    rmSync(join(outDir, "trains/tarn-115-native"), { recursive: true });
    const report = await buildSite({ trains, site: sampleSite, outDir });
    expect(report.reused).toBe(3);
    expect(readAll(outDir)).toEqual(readAll(join(dir, "fresh")));
    expect(readdirSync(dir).filter((name) => name.endsWith(".tmp"))).toEqual([]);
  });

  it("names every train and test whose name could leave the folder or meet another's", async () => {
    const [first, second] = makeSampleResults();
    const results = [
      { ...first, id: "../outside" },
      { ...second, id: "Twin" },
      { ...second, id: "twin", tests: [{ ...second.tests[0], id: "a/b" }] },
    ];
    const trains = results.map((train) => ({ results: train, cropDirs: {} }));
    const work = buildSite({ trains, site: sampleSite, outDir: join(makeSampleFolder(), "site") });
    expect(await listCodes(work)).toEqual(["site/unsafe-name", "site/same-name", "site/unsafe-name"]);
  });

  it("builds with no cut-out at hand and says so on the page", async () => {
    const outDir = join(makeSampleFolder(), "site");
    const trains = makeSampleResults().map((results) => ({
      results,
      cropDirs: Object.fromEntries(results.tests.map(({ id }) => [id, "/nonexistent"])),
    }));
    await buildSite({ trains, site: sampleSite, outDir });
    expect(readPage(outDir, "trains/tarn-70-colour/index.html")).toContain(
      "29 star cut-outs were not at hand",
    );
  });

  it("writes an index that says so when there is no train", async () => {
    const outDir = join(makeSampleFolder(), "site");
    await buildSite({ trains: [], site: sampleSite, outDir });
    expect(readPage(outDir, "index.html")).toContain("No train is on record yet.");
    expect(existsSync(join(outDir, "methods/index.html"))).toBe(true);
  });
});
