import { mkdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { makeJsonSchemas } from "../records/make-json-schemas.ts";
import { replaceFile } from "./write-file.ts";

/** Where the schemas lie, within the content folder; the starting records name them from there. */
export const schemaFolder = ".schema";

/**
 * Writes the JSON Schema of each record to `.schema/<kind>.schema.json` of the content folder, where an editor finds
 * it; files that are right already are left alone. Returns the paths written.
 */
export async function writeSchemas(contentDir: string): Promise<string[]> {
  const folder = join(contentDir, schemaFolder);
  await mkdir(folder, { recursive: true });
  const written: string[] = [];
  for (const [kind, schema] of Object.entries(makeJsonSchemas())) {
    const path = join(folder, `${kind}.schema.json`);
    const text = `${JSON.stringify(schema, null, 2)}\n`;
    if ((await readFile(path, "utf8").catch(() => null)) === text) continue;
    await replaceFile(path, text);
    written.push(path);
  }
  return written;
}
