import type { Fault } from "../../fault.ts";

/** A place in review.md, counted from 1. */
export interface ProsePlace {
  line: number;
  column: number;
}

/** More would not be read: the first few hundred lead the way. */
const mostFaults = 200;

/** Gathers the faults of one review; each place is told once. */
export class ProseFaults {
  readonly list: Fault[] = [];
  readonly file: string;
  private readonly seen = new Set<string>();

  constructor(file: string) {
    this.file = file;
  }

  add(code: string, place: ProsePlace, found: string, allowed: string, fix: string): void {
    const key = `${code} ${place.line}:${place.column}`;
    if (this.seen.has(key) || this.list.length >= mostFaults) return;
    this.seen.add(key);
    this.list.push({ code: `prose/${code}`, file: this.file, ...place, found, allowed, fix });
  }
}
