import { readFile } from "node:fs/promises";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { makeSite } from "../pipeline.ts";
import type { Content } from "../records/types.ts";
import type { SiteReport } from "../site/build-site.ts";
import { nameTest } from "./measure-content.ts";

/** Name and version as package.json has them: they stand in every results file. */
export async function nameSoftware(): Promise<string> {
  const text = await readFile(resolve(import.meta.dirname, "../../package.json"), "utf8");
  const { name, version } = JSON.parse(text) as { name: string; version: string };
  return `${name} ${version}`;
}

/** Records and measurements to the site. */
export async function buildContent(
  content: Content,
  byTest: ReadonlyMap<string, TestMeasurement>,
  outDir: string,
  onStep: (line: string) => void,
): Promise<SiteReport> {
  return makeSite({
    content,
    findMeasurement: (train, test) => byTest.get(nameTest(train, test)) ?? null,
    findMatched: () => null,
    outDir,
    software: await nameSoftware(),
    onStep,
  });
}

/** The last line of a command that built a site: the address to open. */
export function sayAddress(outDir: string): string {
  return `The site is in ${outDir}: open ${pathToFileURL(join(resolve(outDir), "index.html")).href}`;
}
