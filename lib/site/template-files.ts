import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { formatGroundCss, grounds } from "../draw/palette.ts";
import { openModuleGraph } from "./module-graph.ts";

const projectDir = resolve(import.meta.dirname, "../..");

export const templatesDir = join(projectDir, "templates");

const styleFiles = [
  "base.css",
  "layout.css",
  "tables.css",
  "figures.css",
  "records.css",
  "prose.css",
  "find.css",
  "print.css",
];

/** The stylesheet: the colours that the figures use too, then the parts in order. */
export function readStylesheet(): string {
  const light = formatGroundCss(grounds.light);
  const colours = [
    `:root {\n${light}\n}`,
    `@media screen and (prefers-color-scheme: dark) {\n:root {\n${formatGroundCss(grounds.dark)}\n}\n}`,
  ];
  const parts = styleFiles.map((file) => readFileSync(join(templatesDir, "styles", file), "utf8"));
  return [...colours, ...parts].join("\n");
}

const fontFiles = [
  "report-serif.woff2",
  "report-serif-italic.woff2",
  "report-sans.woff2",
  "report-serif-licence.txt",
  "report-sans-licence.txt",
];

/** The typefaces and their licences, by name in the site's `assets` folder. */
export function listFontFiles(): { name: string; from: string }[] {
  return fontFiles.map((file) => ({ name: `fonts/${file}`, from: join(templatesDir, "fonts", file) }));
}

function listFiles(dir: string): string[] {
  return readdirSync(dir, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name))
    .sort();
}

/** Digest of the code in some folders of the project and of its packages' versions. */
export function hashCode(folders: readonly string[]): string {
  const hash = createHash("sha256");
  const dirs = folders.map((dir) => join(projectDir, dir)).filter((dir) => existsSync(dir));
  for (const file of [...dirs.flatMap(listFiles), join(projectDir, "package-lock.json")])
    hash.update(readFileSync(file));
  return hash.digest("hex");
}

/**
 * Digest of all code and templates that shape a train's page: a page made by other code is never taken over. `quick`:
 * styles, which a page only links to, do not count.
 */
export function hashSiteCode(quick = false, graph = openModuleGraph()): string {
  const code = graph.digest("lib/site/make-trains.ts");
  return quick
    ? `quick ${code} ${hashCode(["templates/pages", "templates/parts"])}`
    : `${code} ${hashCode(["templates"])}`;
}
