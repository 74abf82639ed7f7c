import { glob, isDynamicPattern } from "tinyglobby";
import { type Fault, ReportError } from "../fault.ts";

/** Plain byte order, so that the order of frames is the same on every machine. */
function compareNames(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/**
 * The files that a record's paths and globs name, absolute, each once: pattern by pattern in the record's order,
 * sorted within a pattern. A pattern without a wildcard is a path as it stands, whatever characters it has.
 *
 * @param patterns - relative to `baseDir`, or absolute; `*`, `**`, `?`, `[...]` and `{a,b}` are understood
 * @throws ReportError frames/no-match, one fault for every pattern that names no file
 */
export async function expandFrames(patterns: string[], baseDir: string): Promise<string[]> {
  const found = new Set<string>();
  const faults: Fault[] = [];
  for (const pattern of patterns) {
    const posixPattern = pattern.replaceAll("\\", "/");
    const options = { cwd: baseDir, absolute: true, onlyFiles: true, dot: true, expandDirectories: false };
    // Brackets and the like may be part of a name: what exists under the very name is taken first.
    const literal = await glob(escapePattern(posixPattern), options);
    const paths =
      literal.length > 0 || !isDynamicPattern(posixPattern) ? literal : await glob(posixPattern, options);
    if (paths.length === 0) {
      faults.push({
        code: "frames/no-match",
        file: baseDir,
        found: `no file for ${JSON.stringify(pattern)}`,
        allowed: "a path or pattern that names at least one file, seen from this folder",
        fix: "correct the pattern, or put the frames where it says",
      });
    }
    for (const path of paths.sort(compareNames)) found.add(path);
  }
  if (faults.length > 0) throw new ReportError(faults);
  return [...found];
}

/** The pattern with every character taken as it stands. */
function escapePattern(pattern: string): string {
  return pattern.replace(/[*?[\]{}()!|@+]/g, "\\$&");
}
