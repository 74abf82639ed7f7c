import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { describe, expect, it } from "vitest";

const lib = resolve(import.meta.dirname, "../lib");
const templates = resolve(lib, "../templates");

/** Rooms in the order of the data's way; a room may import values only from the rooms named. */
const mayImport: Record<string, readonly string[]> = {
  maths: [],
  records: ["maths"],
  frames: ["maths"],
  stars: ["maths"],
  train: ["maths"],
  field: ["maths", "records", "frames", "stars", "train"],
  light: ["maths", "records", "frames", "stars", "train", "field"],
  colour: ["maths", "records", "frames", "stars", "train", "field", "light"],
  measured: ["maths", "records", "frames", "stars", "train", "field", "light", "colour"],
  night: ["maths", "records", "frames", "stars", "train", "field", "light", "colour", "measured"],
  ledger: ["maths", "records", "frames", "stars", "train", "field", "light", "colour", "measured", "night"],
  compare: [
    "maths",
    "records",
    "frames",
    "stars",
    "train",
    "field",
    "light",
    "colour",
    "measured",
    "night",
    "ledger",
  ],
  report: [
    "maths",
    "records",
    "frames",
    "stars",
    "train",
    "field",
    "light",
    "colour",
    "measured",
    "night",
    "ledger",
    "compare",
  ],
  draw: ["maths"],
  site: ["maths", "report", "draw", "templates"],
};

/** Types carry no behaviour: a room may also name the types of rooms before it, and `draw` those of the results. */
const mayNameTypes: Record<string, readonly string[]> = {
  frames: ["records"],
  stars: ["records", "frames"],
  train: ["records", "report"],
  field: ["report"],
  light: ["report"],
  colour: ["report"],
  measured: ["report"],
  night: ["report"],
  ledger: ["report"],
  compare: ["report"],
  draw: ["report"],
  site: ["records"],
};

const mayTouchFiles = [/^records\/read/, /^frames\/open/, /^site\//, /^commands\//];

function listSources(dir: string): string[] {
  return readdirSync(dir, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith(".ts") && !entry.name.endsWith(".d.ts"))
    .map((entry) => join(entry.parentPath, entry.name));
}

function listImports(file: string): { target: string; typeOnly: boolean }[] {
  const text = readFileSync(file, "utf8");
  const pattern = /^\s*(?:import|export)\s+(type\s+)?(?:[^"';]*?\sfrom\s+)?["']([^"']+)["']/gm;
  return [...text.matchAll(pattern)].map((match) => ({
    target: match[2],
    typeOnly: match[1] !== undefined,
  }));
}

function nameRoom(file: string): string {
  if (file.startsWith(templates)) return "templates";
  const path = relative(lib, file).replaceAll("\\", "/");
  return path.includes("/") ? path.slice(0, path.indexOf("/")) : "";
}

describe("the import table of DEVELOPERS.md", () => {
  it("holds for every file of lib: data flows one way through the rooms", () => {
    const breaches: string[] = [];
    for (const file of listSources(lib)) {
      const room = nameRoom(file);
      const allowed = mayImport[room];
      if (allowed === undefined) continue;
      for (const { target, typeOnly } of listImports(file)) {
        if (!target.startsWith(".")) continue;
        const into = resolve(dirname(file), target);
        const other = nameRoom(into);
        if (other === room || relative(lib, into) === "fault.ts") continue;
        if (allowed.includes(other) || (typeOnly && mayNameTypes[room]?.includes(other))) continue;
        breaches.push(`${relative(lib, file)} imports ${relative(lib, into)}`);
      }
    }
    expect(breaches).toEqual([]);
  });

  it("lets only records/read, frames/open, site and commands touch files", () => {
    const breaches = listSources(lib)
      .filter((file) => listImports(file).some(({ target }) => /^node:fs/.test(target)))
      .map((file) => relative(lib, file).replaceAll("\\", "/"))
      .filter((path) => !mayTouchFiles.some((pattern) => pattern.test(path)));
    expect(breaches).toEqual([]);
  });
});
