import { access, mkdir, mkdtemp, readFile, rename, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { glob } from "tinyglobby";
import { ReportError } from "../fault.ts";
import { read } from "../pipeline.ts";
import { listNearest } from "../records/check-comparison.ts";
import type { Content } from "../records/types.ts";
import { joinTrainAddress } from "../site/publication/page-address.ts";
import { type BagFile, makeTagFiles } from "./bag.ts";
import { buildContent, nameSoftware } from "./build-content.ts";
import { checkBag } from "./check-bag.ts";
import { collectContent } from "./collect-content.ts";
import { compareFolders } from "./compare-folders.ts";
import { readOptions } from "./options.ts";
import { isStarted, runCommand, type Terminal } from "./run-command.ts";

/** Builds a site with nothing but a content folder: no store and no memory of earlier builds has a say. */
async function buildApart(contentDir: string, outDir: string, onStep: (line: string) => void): Promise<void> {
  const storeDir = await mkdtemp(join(tmpdir(), "rig-report-bundle-"));
  try {
    await buildContent({ content: await read(contentDir), outDir, onStep, storeDir });
  } finally {
    await rm(storeDir, { recursive: true, force: true });
  }
}

async function writeFiles(dir: string, files: readonly BagFile[]): Promise<void> {
  for (const { path, bytes } of files) {
    await mkdir(dirname(join(dir, path)), { recursive: true });
    await writeFile(join(dir, path), bytes);
  }
}

async function readFolder(dir: string, below: string): Promise<BagFile[]> {
  const paths = await glob("**/*", { cwd: join(dir, below), dot: true, onlyFiles: true });
  return Promise.all(
    paths
      .sort()
      .map(async (path) => ({ path: `${below}/${path}`, bytes: await readFile(join(dir, below, path)) })),
  );
}

/** The day for bag-info.txt: SOURCE_DATE_EPOCH where it is set, for bundles that are the same to the byte. */
function sayDay(environment: NodeJS.ProcessEnv, now: () => Date): string {
  const epoch = environment.SOURCE_DATE_EPOCH;
  const time = epoch !== undefined && /^\d{1,12}$/.test(epoch) ? new Date(Number(epoch) * 1000) : now();
  return time.toISOString().slice(0, 10);
}

async function describeBundle(content: Content, id: string): Promise<[string, string][]> {
  const train = content.trains.find((entry) => entry.id === id);
  const { author, club } = content.site;
  const address = joinTrainAddress(content.site, id);
  const info: [string, string | null][] = [
    ["Source-Organization", club || null],
    ["Contact-Name", author || null],
    ["External-Identifier", address],
    [
      "External-Description",
      `${train?.record.name}: records, measurements, cut-outs, results and page of a test report`,
    ],
    ["Internal-Sender-Identifier", id],
    ["Bagging-Date", sayDay(process.env, () => new Date())],
    ["Bag-Software-Agent", await nameSoftware()],
  ];
  return info.filter((line): line is [string, string] => line[1] !== null);
}

function chooseTrain(content: Content, asked: string | undefined): string {
  const ids = content.trains.map(({ id }) => id);
  if (asked !== undefined && ids.includes(asked)) return asked;
  throw new ReportError([
    {
      code: "bundle/unknown-train",
      file: "--train",
      found: asked === undefined ? "nothing" : JSON.stringify(asked),
      allowed: `the folder's name of a train: ${listNearest(asked ?? "", ids, "there is none")}`,
      fix: "write --train and the name",
    },
  ]);
}

/** Makes the bundle of one train in a folder that does not exist yet. */
export async function makeBundle(
  contentDir: string,
  asked: string | undefined,
  outDir: string,
  onStep: (line: string) => void,
): Promise<{ files: number }> {
  const content = await read(contentDir);
  const id = chooseTrain(content, asked);
  const isThere = await access(outDir).then(
    () => true,
    () => false,
  );
  if (isThere) {
    throw new ReportError([
      {
        code: "bundle/exists",
        file: outDir,
        found: "a folder or file that is there already",
        allowed: "a new folder: a bundle is never written over",
        fix: "name another with --out, or move this one away",
      },
    ]);
  }
  const partial = `${resolve(outDir)}.part`;
  await rm(partial, { recursive: true, force: true });
  try {
    await writeFiles(join(partial, "data/content"), await collectContent(content, id));
    await buildApart(join(partial, "data/content"), join(partial, "data/site"), onStep);
    const payload = [
      ...(await readFolder(partial, "data/content")),
      ...(await readFolder(partial, "data/site")),
    ];
    const tags = makeTagFiles(payload, await describeBundle(content, id));
    await writeFiles(partial, tags);
    await rename(partial, outDir);
    return { files: payload.length + tags.length };
  } catch (error) {
    await rm(partial, { recursive: true, force: true });
    throw error;
  }
}

/** Whether a bundle is whole, and whether its records and measurements give its pages byte for byte. */
export async function checkBundle(dir: string, onStep: (line: string) => void): Promise<void> {
  const faults = await checkBag(dir);
  if (faults.length > 0) throw new ReportError(faults);
  onStep("Every file is as it was when the bundle was made.");
  const scratch = await mkdtemp(join(tmpdir(), "rig-report-check-"));
  try {
    await buildApart(join(dir, "data/content"), join(scratch, "site"), onStep);
    const differences = await compareFolders(join(dir, "data/site"), join(scratch, "site"));
    if (differences.length === 0) return;
    throw new ReportError(
      differences.map((found) => ({
        code: "bundle/other-pages",
        file: join(dir, "data/site"),
        found,
        allowed: "the pages that the bundle's own records and measurements give",
        fix: "use the version of the software that bag-info.txt names; with another, other bytes are no loss",
      })),
    );
  } finally {
    await rm(scratch, { recursive: true, force: true });
  }
}

/** `npm run bundle -- --content DIR --train ID --out DIR` makes a train's archive; `-- --check DIR` checks one. */
export async function runBundle(args: readonly string[], terminal: Terminal): Promise<void> {
  const options = readOptions("bundle", args, ["content", "train", "out", "check"]);
  if (options.check !== undefined) {
    await checkBundle(options.check, terminal.step);
    terminal.result(`${options.check} is whole, and its pages are those that its records give`);
    return;
  }
  const outDir = options.out ?? `${options.train ?? "train"}-bundle`;
  const { files } = await makeBundle(options.content ?? "content", options.train, outDir, terminal.step);
  terminal.result(
    `The bundle is in ${outDir}: ${files} files, checked by  npm run bundle -- --check ${outDir}`,
  );
}

if (isStarted(import.meta.url)) await runCommand(runBundle);
