import { mkdir, readdir, stat } from "node:fs/promises";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { type Fault, formatFault, ReportError } from "../fault.ts";
import { isRealDate, suggestDate } from "../records/calendar-date.ts";
import { listNearest } from "../records/check-comparison.ts";
import { ID_ALLOWED, isSafeId, makeSafeId } from "../records/name-id.ts";
import { makeStartingSite } from "../records/starting-site.ts";
import { makeStartingTest } from "../records/starting-test.ts";
import { makeStartingTrain } from "../records/starting-train.ts";
import { writeNewFile } from "./write-file.ts";
import { schemaFolder, writeSchemas } from "./write-schemas.ts";

const usage =
  "npm run new -- train NAME   or   npm run new -- test TRAIN DATE   (--content DIR for another folder)";

/** Lines for the terminal, the last says where the record is. */
type Lines = string[];

function fail(code: string, file: string, found: string, allowed: string, fix: string): never {
  throw new ReportError([{ code, file, found, allowed, fix }]);
}

/** Writes a starting train.yaml, and site.yaml and the schemas where they are missing. Never overwrites a record. */
export async function newTrain(contentDir: string, name: string): Promise<Lines> {
  const title = name.trim();
  const plain = title
    .replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, " ")
    .slice(0, 120)
    .trim();
  const id = makeSafeId(title);
  if (id === null) {
    const fix =
      "add a word of plain letters: it becomes the folder's name; the name key may say it as you like";
    fail("new/unsafe-name", "NAME", `"${title}"`, ID_ALLOWED, fix);
  }
  const lines: Lines = [];
  if (id !== name)
    lines.push(`The train's folder and address are called ${id}; its name key keeps your words.`);
  const twin = await findTwin(join(contentDir, "trains"), id);
  const folder = join(contentDir, "trains", twin ?? id);
  const file = join(folder, "train.yaml");
  await mkdir(folder, { recursive: true });
  const text = makeStartingTrain(plain, `../../${schemaFolder}/train.schema.json`);
  if (!(await writeNewFile(file, text))) {
    fail(
      "new/exists",
      file,
      "a train of that name",
      "a name that is still free",
      "give another name, or edit that file",
    );
  }
  await writeSchemas(contentDir);
  const site = join(contentDir, "site.yaml");
  if (await writeNewFile(site, makeStartingSite(`${schemaFolder}/site.schema.json`))) {
    lines.push(`Wrote ${site}: title and author of the whole site.`);
  }
  lines.push(`Wrote ${file}: replace the values marked REPLACE, then run  ${showReport(contentDir)}`);
  return lines;
}

/** Writes a starting test.yaml for an evening; `day` is its date, with -b and the like for a second test that night. */
export async function newTest(contentDir: string, train: string, day: string): Promise<Lines> {
  const trains = await listNames(join(contentDir, "trains"));
  if (!trains.includes(train)) {
    const known = listNearest(train, trains, "no train exists yet: npm run new -- train NAME");
    fail(
      "new/unknown-train",
      join(contentDir, "trains"),
      `no train "${train}"`,
      known,
      "give the name of a train's folder",
    );
  }
  const date = day.slice(0, 10);
  if (!isRealDate(date)) {
    const allowed = "the evening's date as year-month-day, with -b and the like behind it for a second test";
    fail("new/bad-date", "DATE", `"${day}"`, allowed, suggestDate(day));
  }
  if (!isSafeId(day) || !/^(-[A-Za-z0-9_-]+)?$/.test(day.slice(10))) {
    fail(
      "new/unsafe-name",
      "DATE",
      `"${day}"`,
      `a date, then - and ${ID_ALLOWED}`,
      `write ${date}-b for instance`,
    );
  }
  const parent = join(contentDir, "trains", train, "tests");
  const folder = join(parent, (await findTwin(parent, day)) ?? day);
  const file = join(folder, "test.yaml");
  await mkdir(folder, { recursive: true });
  const text = makeStartingTest(date, `../../../../${schemaFolder}/test.schema.json`);
  if (!(await writeNewFile(file, text))) {
    const fix = `edit that file, or write ${date}-b for another test in the same night`;
    fail("new/exists", file, "a test of that name", "a name that is still free", fix);
  }
  await writeSchemas(contentDir);
  return [`Wrote ${file}: put the frames where it says, then run  ${showReport(contentDir)}`];
}

function showReport(contentDir: string): string {
  return contentDir === "content" ? "npm run report" : `npm run report -- --content ${contentDir}`;
}

async function listNames(folder: string): Promise<string[]> {
  const entries = await readdir(folder).catch(() => []);
  const kinds = await Promise.all(entries.map((entry) => stat(join(folder, entry)).catch(() => null)));
  return entries.filter((entry, index) => isSafeId(entry) && kinds[index]?.isDirectory());
}

/** The folder that has this name but for letter case, as it would be on many disks; null where there is none. */
async function findTwin(folder: string, id: string): Promise<string | null> {
  const names = await listNames(folder);
  return names.find((name) => name.toLowerCase() === id.toLowerCase()) ?? null;
}

/** Runs the command; the arguments are those behind `npm run new --`. Throws ReportError for what the user mistyped. */
export async function runNew(args: readonly string[]): Promise<Lines> {
  const { values, positionals } = readArguments(args);
  const [what, ...names] = positionals;
  const contentDir = values.content ?? "content";
  if (what === "train" && names.length >= 1) return newTrain(contentDir, names.join(" "));
  if (what === "test" && names.length === 2) return newTest(contentDir, names[0], names[1]);
  const found = positionals.length === 0 ? "nothing to make" : positionals.join(" ");
  return fail("new/usage", "npm run new", found, usage, "name what to make, and how to call it");
}

function readArguments(args: readonly string[]) {
  try {
    const options = { content: { type: "string" }, debug: { type: "boolean" } } as const;
    return parseArgs({ args: [...args], options, allowPositionals: true });
  } catch (error) {
    const found = error instanceof Error ? error.message.split(".")[0] : "unknown options";
    return fail(
      "new/usage",
      "npm run new",
      found,
      usage,
      "use these options only; put a name that begins with - behind --",
    );
  }
}

function describeSystemError(error: unknown): Fault {
  const message = error instanceof Error ? error.message : String(error);
  const fix = "check that the folder may be written to and the disk has room; --debug shows more";
  return {
    code: "new/not-written",
    file: "npm run new",
    found: message,
    allowed: "a folder that can be written",
    fix,
  };
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  try {
    for (const line of await runNew(process.argv.slice(2))) console.log(line);
  } catch (error) {
    const faults = error instanceof ReportError ? error.faults : [describeSystemError(error)];
    console.error(faults.map(formatFault).join("\n"));
    if (process.argv.includes("--debug")) console.error(error);
    process.exitCode = 1;
  }
}
