/** What a program that stays keeps from build to build, by names that hold digests of all it was made from. */
export interface ResidentMemory {
  find: (name: string) => unknown;
  keep: (name: string, value: unknown, bytes: number) => void;
}

/** Holds up to so many bytes; what was not asked for the longest is forgotten first. */
export function openResidentMemory(mostBytes: number): ResidentMemory {
  const kept = new Map<string, { value: unknown; bytes: number }>();
  let held = 0;
  const forget = (name: string) => {
    held -= kept.get(name)?.bytes ?? 0;
    kept.delete(name);
  };
  return {
    find(name) {
      const found = kept.get(name);
      if (found === undefined) return undefined;
      kept.delete(name);
      kept.set(name, found);
      return found.value;
    },
    keep(name, value, bytes) {
      forget(name);
      if (bytes > mostBytes) return;
      kept.set(name, { value, bytes });
      held += bytes;
      for (const oldest of kept.keys()) {
        if (held <= mostBytes) break;
        forget(oldest);
      }
    },
  };
}

let resident: ResidentMemory | null = null;

/** Sets what the builds of this thread keep things in; null, as at the start: in files alone. */
export function useResidentMemory(next: ResidentMemory | null): void {
  resident = next;
}

export function getResidentMemory(): ResidentMemory | null {
  return resident;
}
