import type { Fault } from "../fault.ts";

/** By file, then line, column, key and code: the order in which one would mend them. */
export function sortFaults(faults: readonly Fault[]): Fault[] {
  return [...faults].sort(
    (a, b) =>
      compareText(a.file, b.file) ||
      (a.line ?? 0) - (b.line ?? 0) ||
      (a.column ?? 0) - (b.column ?? 0) ||
      compareText(a.key ?? "", b.key ?? "") ||
      compareText(a.code, b.code),
  );
}

// Not localeCompare: the order must not depend on the machine's language.
function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
