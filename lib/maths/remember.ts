import { createHash, type Hash } from "node:crypto";

/** Where results of long computations are kept from one run to the next. Both may forget; neither may change a value. */
export interface Memory {
  find: (name: string, key: string) => unknown;
  keep: (name: string, key: string, value: unknown) => void;
}

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
  if (memory === null) return compute(...inputs);
  const key = digestData([name, inputs]);
  const found = memory.find(name, key);
  if (found !== undefined) return found as Result;
  const result = compute(...inputs);
  memory.keep(name, key, result);
  return result;
}

/**
 * SHA-256 of plain data, hexadecimal. Equal for equal data whatever the order of an object's keys; -0 and 0 differ, all
 * NaN are one. Throws TypeError on functions and the like, which are no data.
 */
export function digestData(value: unknown): string {
  const hash = createHash("sha256");
  addValue(hash, value);
  return hash.digest("hex");
}

const number = new Float64Array(1);

function addValue(hash: Hash, value: unknown): void {
  if (typeof value === "number") {
    number[0] = value;
    hash.update("n").update(new Uint8Array(number.buffer));
  } else if (typeof value === "string") {
    hash.update(`s${value.length} `).update(value, "utf8");
  } else if (value === null || value === undefined || typeof value === "boolean") {
    hash.update(String(value));
  } else if (ArrayBuffer.isView(value)) {
    hash.update(`v${value.constructor.name} ${value.byteLength} `);
    hash.update(new Uint8Array(value.buffer, value.byteOffset, value.byteLength));
  } else if (Array.isArray(value)) {
    hash.update(`a${value.length} `);
    for (const item of value) addValue(hash, item);
  } else if (typeof value === "object") {
    const entries = Object.entries(value).filter(([, item]) => item !== undefined);
    hash.update(`o${entries.length} `);
    for (const [key, item] of entries.sort(([a], [b]) => (a < b ? -1 : 1))) {
      addValue(hash, key);
      addValue(hash, item);
    }
  } else throw new TypeError(`a ${typeof value} is no plain data`);
}
