import { digestData } from "./digest-data.ts";

/** Where results of computations are kept. It may forget; it may never change a value. */
export interface Memory {
  find: (name: string, key: string, kind: MemoryKind) => unknown;
  keep: (name: string, key: string, value: unknown, kind: MemoryKind) => void;
  /** Whether it keeps short computations at all. */
  keepsShort: boolean;
}

/** Long ones are kept from one run to the next, short ones, where at all, as long as the program runs. */
export type MemoryKind = "long" | "short";

let memory: Memory | null = null;

/** Sets the memory of this thread; null, as at the start: everything is computed each time. */
export function useMemory(next: Memory | null): void {
  memory = next;
}

/**
 * The result of a pure computation, taken from the memory where the same inputs were met before. What is remembered is
 * told apart by `name` and by every number and text of `inputs`, to the last bit, so that a call with a memory gives what
 * the call without it gives: `compute` must be a function of its arguments alone.
 *
 * @param name - the module that `compute` stands in, from `lib` and without ending, and where there are several a sharp and
 *   its own name: `compare/read-side#zones`. The module, with all it imports, is the code that could change the result
 * @param inputs - plain data: numbers, texts, typed arrays, lists, objects without methods
 */
export function remember<Inputs extends readonly unknown[], Result>(
  name: string,
  compute: (...inputs: Inputs) => Result,
  ...inputs: Inputs
): Result {
  return memory === null ? compute(...inputs) : findOrCompute(memory, "long", name, compute, inputs);
}

/**
 * As `remember`, for computations that take less time than a file to keep them in would: only a program that stays, as that
 * of the live view does, keeps them.
 */
export function recall<Inputs extends readonly unknown[], Result>(
  name: string,
  compute: (...inputs: Inputs) => Result,
  ...inputs: Inputs
): Result {
  if (memory === null || !memory.keepsShort) return compute(...inputs);
  return findOrCompute(memory, "short", name, compute, inputs);
}

function findOrCompute<Inputs extends readonly unknown[], Result>(
  store: Memory,
  kind: MemoryKind,
  name: string,
  compute: (...inputs: Inputs) => Result,
  inputs: Inputs,
): Result {
  const key = digestData([name, inputs]);
  const found = store.find(name, key, kind);
  if (found !== undefined) return found as Result;
  const result = compute(...inputs);
  store.keep(name, key, result, kind);
  return result;
}
