import { execFileSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildFolder } from "../../lib/commands/build-folder.ts";
import { ReportError } from "../../lib/fault.ts";
import { makeSite, read } from "../../lib/pipeline.ts";
import { siteMarker } from "../../lib/site/output-folder.ts";
import { listSiteFiles } from "../site/sample-site.ts";
import { listStarContent, writeOld, writeStarContent } from "./star-content.ts";

const root = resolve(import.meta.dirname, "../..");
let scratch: string;
let content: string;
/** Nine trains, so that threads are used; one has stars enough for a field model. */
const files = new Map([
  ...listStarContent({ trains: 9, stars: 25 }),
  ...listStarContent({ trains: 1, stars: 200 }),
]);

beforeAll(async () => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-build-"));
  content = join(scratch, "content");
  writeStarContent(content, files);
  await buildFolder(content, join(scratch, "site"), () => {}, { threads: 2 });
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

function readAll(dir: string): Record<string, string> {
  const paths = listSiteFiles(dir).filter((path) => path !== siteMarker);
  return Object.fromEntries(paths.map((path) => [path, readFileSync(join(dir, path)).toString("base64")]));
}

async function build(out: string): Promise<string[]> {
  const steps: string[] = [];
  await buildFolder(content, out, (line) => steps.push(line), { threads: 1 });
  return steps;
}

describe("buildFolder", () => {
  it("gives on two threads, with its stores, the bytes of the six steps done one after the other", async () => {
    const plain = join(scratch, "plain");
    await makeSite({
      content: await read(content),
      findMeasurement: () => null,
      findMatched: () => null,
      outDir: plain,
      software: JSON.parse(readFileSync(join(root, "package.json"), "utf8")).name.concat(
        ` ${JSON.parse(readFileSync(join(root, "package.json"), "utf8")).version}`,
      ),
      onStep: () => {},
    });
    expect(Object.keys(readAll(plain)).length).toBeGreaterThan(100);
    expect(readAll(join(scratch, "site"))).toEqual(readAll(plain));
  });

  it("takes over all 9 trains when nothing changed, and all but the one whose record did", async () => {
    const site = join(scratch, "site");
    const before = readAll(site);
    expect(await build(site)).toEqual(["9 pages unchanged"]);
    expect(readAll(site)).toEqual(before);
    const record = join(content, "trains/tarn-80-4/train.yaml");
    const text = readFileSync(record, "utf8");
    writeOld(record, text.replace("no. 4", "no. 4, with the long ring"));
    expect(await build(site)).toEqual(["8 pages unchanged", "pages written: 1 of 1"]);
    await build(join(scratch, "fresh"));
    expect(readAll(site)).toEqual(readAll(join(scratch, "fresh")));
    expect(readFileSync(join(site, "index.html"), "utf8")).toContain("with the long ring");
    writeOld(record, text);
    await build(site);
    expect(readAll(site)).toEqual(before);
  });

  it("analyses no test again when only the prose of a train changed", async () => {
    const store = join(content, ".cache/built/tests");
    const analysed = readdirSync(store).sort();
    writeOld(join(content, "trains/tarn-80-0/review.md"), "Now with another ring.\n");
    await build(join(scratch, "site"));
    expect(readdirSync(store).sort()).toEqual(analysed);
    expect(readFileSync(join(scratch, "site/trains/tarn-80-0/index.html"), "utf8")).toContain(
      "Now with another ring.",
    );
    writeOld(join(content, "trains/tarn-80-0/review.md"), files.get("trains/tarn-80-0/review.md") ?? "");
  });

  it("names every fault of every record, of trains read before as of new ones, and leaves the site", async () => {
    const site = join(scratch, "site");
    await build(site);
    const before = readAll(site);
    const [one, two] = ["trains/tarn-80-2/train.yaml", "trains/tarn-80-7/train.yaml"];
    writeOld(join(content, one), (files.get(one) ?? "").replace("widthPx: 3000", "widthPx: wide"));
    writeOld(join(content, two), (files.get(two) ?? "").replace("no. 7", "no. 1"));
    const error = await build(site).catch((reason: unknown) => reason);
    if (!(error instanceof ReportError)) throw new Error("a ReportError was expected", { cause: error });
    expect(error.faults.map(({ code, line }) => `${code} in line ${line}`)).toEqual([
      "records/wrong-value in line 7",
      "records/duplicate-name in line 1",
    ]);
    expect(readAll(site)).toEqual(before);
    for (const path of [one, two]) writeOld(join(content, path), files.get(path) ?? "");
  });

  it("gives the same bytes from another folder, in another order of files, time zone, locale and year", async () => {
    const runs = [
      { TZ: "Pacific/Kiritimati", LANG: "de_DE.UTF-8", LC_ALL: "de_DE.UTF-8" },
      { TZ: "America/St_Johns", LANG: "tr_TR.UTF-8", LC_ALL: "C", SOURCE_DATE_EPOCH: "1000000000" },
    ];
    const small = listStarContent({ trains: 2, stars: 25 });
    const sites = runs.map((environment, k) => {
      const dir = join(scratch, k === 0 ? "first" : "a folder/of another depth");
      writeStarContent(join(dir, "records"), small, k === 1);
      execFileSync(
        process.execPath,
        [
          "--import",
          "tsx",
          join(root, "lib/commands/build.ts"),
          "--content",
          join(dir, "records"),
          "--out",
          join(dir, "site"),
        ],
        { cwd: root, env: { ...process.env, ...environment }, stdio: "ignore" },
      );
      return join(dir, "site");
    });
    const [first, second] = sites.map(readAll);
    expect(second).toEqual(first);
    const [one, two] = sites.map((site) => readFileSync(join(site, siteMarker), "utf8"));
    expect(two).toBe(one);
  });
});
