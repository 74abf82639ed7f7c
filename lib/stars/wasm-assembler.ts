/**
 * Just enough of the WebAssembly binary format (W3C WebAssembly Core Specification 2.0, chapter 5) to write a few vector
 * loops: JavaScript has no vector instructions, and the matched filter goes through every pixel of a frame.
 */

/** Value types. */
export const I32 = 0x7f;
export const F32 = 0x7d;
export const V128 = 0x7b;

type Code = readonly number[];

/** Unsigned LEB128. */
function leb(value: number): number[] {
  const bytes: number[] = [];
  let rest = value;
  do {
    bytes.push((rest & 0x7f) | (rest > 0x7f ? 0x80 : 0));
    rest >>>= 7;
  } while (rest > 0);
  return bytes;
}

/** Signed LEB128, for constants. */
function signedLeb(value: number): number[] {
  const bytes: number[] = [];
  let rest = value;
  for (;;) {
    const byte = rest & 0x7f;
    rest >>= 7;
    const done = (rest === 0 && (byte & 0x40) === 0) || (rest === -1 && (byte & 0x40) !== 0);
    bytes.push(done ? byte : byte | 0x80);
    if (done) return bytes;
  }
}

const vector = (opcode: number): Code => [0xfd, ...leb(opcode)];
const at = (offset: number): Code => [0, ...leb(offset)];

/** Instructions, stack machine style: operands first, as code lists. */
export const op = {
  get: (local: number): Code => [0x20, ...leb(local)],
  set: (local: number, value: Code): Code => [...value, 0x21, ...leb(local)],
  i32: (value: number): Code => [0x41, ...signedLeb(value)],
  add: (a: Code, b: Code): Code => [...a, ...b, 0x6a],
  subtract: (a: Code, b: Code): Code => [...a, ...b, 0x6b],
  load: (address: Code): Code => [...address, 0x28, ...at(0)],
  store: (address: Code, value: Code): Code => [...address, ...value, 0x36, ...at(0)],
  /** Repeats `body` while `condition` holds after it; at least once. */
  repeatWhile: (condition: Code, body: Code): Code => [0x03, 0x40, ...body, ...condition, 0x0d, 0, 0x0b],
  when: (condition: Code, body: Code): Code => [...condition, 0x04, 0x40, ...body, 0x0b],
  lessThan: (a: Code, b: Code): Code => [...a, ...b, 0x49],
  vLoad: (address: Code, offset = 0): Code => [...address, ...vector(0), ...at(offset)],
  vLoadSplat: (address: Code): Code => [...address, ...vector(9), ...at(0)],
  vStore: (address: Code, value: Code, offset = 0): Code => [
    ...address,
    ...value,
    ...vector(11),
    ...at(offset),
  ],
  vSplat: (value: Code): Code => [...value, ...vector(19)],
  vAdd: (a: Code, b: Code): Code => [...a, ...b, ...vector(228)],
  vSubtract: (a: Code, b: Code): Code => [...a, ...b, ...vector(229)],
  vMultiply: (a: Code, b: Code): Code => [...a, ...b, ...vector(230)],
  vGreater: (a: Code, b: Code): Code => [...a, ...b, ...vector(68)],
  vAnyTrue: (a: Code): Code => [...a, ...vector(83)],
  /** Lower and upper four of eight unsigned 16-bit numbers, as floats. */
  vWidenLow: (a: Code): Code => [...a, ...vector(169), ...vector(250)],
  vWidenHigh: (a: Code): Code => [...a, ...vector(170), ...vector(250)],
};

export interface FunctionText {
  name: string;
  parameters: readonly number[];
  /** Whether an i32 is left on the stack. */
  result: boolean;
  locals: readonly number[];
  body: readonly Code[];
}

const section = (id: number, content: number[]): number[] => [id, ...leb(content.length), ...content];
const list = (items: readonly (readonly number[])[]): number[] => [...leb(items.length), ...items.flat()];
const text = (value: string): number[] => [
  ...leb(value.length),
  ...Array.from(value, (letter) => letter.charCodeAt(0)),
];

/** The module's bytes: the functions, exported by name, over one exported memory named "memory" of `pages` x 64 KiB. */
export function assembleModule(functions: readonly FunctionText[], pages: number): Uint8Array<ArrayBuffer> {
  const types = functions.map(({ parameters, result }) => [
    0x60,
    ...list(parameters.map((type) => [type])),
    ...(result ? [1, I32] : [0]),
  ]);
  const codes = functions.map(({ locals, body }) => {
    const declared = list(locals.map((type) => [1, type]));
    const code = [...declared, ...body.flat(), 0x0b];
    return [...leb(code.length), ...code];
  });
  const exported = [
    [...text("memory"), 2, 0],
    ...functions.map(({ name }, i) => [...text(name), 0, ...leb(i)]),
  ];
  return Uint8Array.from([
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(1, list(types)),
    ...section(3, list(functions.map((_, i) => leb(i)))),
    ...section(5, list([[0, ...leb(pages)]])),
    ...section(7, list(exported)),
    ...section(10, list(codes)),
  ]);
}
