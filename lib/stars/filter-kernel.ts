import { assembleModule, F32, type FunctionText, I32, op, V128 } from "./wasm-assembler.ts";

const { get, set, i32, add, subtract, load, store, repeatWhile, when, lessThan } = op;
const { vLoad, vLoadSplat, vStore, vSplat, vAdd, vSubtract, vMultiply, vGreater, vAnyTrue } = op;

/** Bytes of eight floats: what every loop below goes forward by. */
const STEP = 32;

/** widen(from, to, end, pedestal): 16-bit samples at `from` to floats less the pedestal at to...end. */
const widen: FunctionText = {
  name: "widen",
  parameters: [I32, I32, I32, F32],
  result: false,
  locals: [V128, V128],
  body: [
    set(4, vSplat(get(3))),
    repeatWhile(lessThan(get(1), get(2)), [
      ...set(5, vLoad(get(0))),
      ...vStore(get(1), vSubtract(op.vWidenLow(get(5)), get(4))),
      ...vStore(get(1), vSubtract(op.vWidenHigh(get(5)), get(4)), 16),
      ...set(0, add(get(0), i32(16))),
      ...set(1, add(get(1), i32(STEP))),
    ]),
  ],
};

/**
 * sumRows(table, weights, weightsEnd, out, bytes): out = w0 c + w1 (a1 + b1) + ... over rows whose addresses stand in
 * the table as c, a1, b1, a2, b2, ...; `bytes` the length of a row.
 */
const sumRows: FunctionText = {
  name: "sumRows",
  parameters: [I32, I32, I32, I32, I32],
  result: false,
  // 5 x, 6 table position, 7 weight position, 8 and 9 sums, 10 a, 11 b, 12 weight
  locals: [I32, I32, I32, V128, V128, I32, I32, V128],
  body: [
    repeatWhile(lessThan(get(5), get(4)), [
      ...set(12, vLoadSplat(get(1))),
      ...set(10, add(load(get(0)), get(5))),
      ...set(8, vMultiply(get(12), vLoad(get(10)))),
      ...set(9, vMultiply(get(12), vLoad(get(10), 16))),
      ...set(6, add(get(0), i32(4))),
      ...set(7, add(get(1), i32(4))),
      ...repeatWhile(lessThan(get(7), get(2)), [
        ...set(10, add(load(get(6)), get(5))),
        ...set(11, add(load(add(get(6), i32(4))), get(5))),
        ...set(12, vLoadSplat(get(7))),
        ...set(8, vAdd(get(8), vMultiply(get(12), vAdd(vLoad(get(10)), vLoad(get(11)))))),
        ...set(9, vAdd(get(9), vMultiply(get(12), vAdd(vLoad(get(10), 16), vLoad(get(11), 16))))),
        ...set(6, add(get(6), i32(8))),
        ...set(7, add(get(7), i32(4))),
      ]),
      ...vStore(add(get(3), get(5)), get(8)),
      ...vStore(add(get(3), get(5)), get(9), 16),
      ...set(5, add(get(5), i32(STEP))),
    ]),
  ],
};

/**
 * sumColumns(centre, weights, weightsEnd, out, bytes, sky, slope, way, sum, gain): the same along a row about its column
 * `centre`, then (that - (sky + way slope) sum) gain.
 */
const sumColumns: FunctionText = {
  name: "sumColumns",
  parameters: [I32, I32, I32, I32, I32, I32, I32, F32, I32, I32],
  result: false,
  // 10 x, 11 leftward and 12 rightward address, 13 weight position, 14 and 15 sums, 16 weight, 17 way
  locals: [I32, I32, I32, I32, V128, V128, V128, V128],
  body: [
    set(17, vSplat(get(7))),
    repeatWhile(lessThan(get(10), get(4)), [
      ...set(11, add(get(0), get(10))),
      ...set(12, get(11)),
      ...set(16, vLoadSplat(get(1))),
      ...set(14, vMultiply(get(16), vLoad(get(11)))),
      ...set(15, vMultiply(get(16), vLoad(get(11), 16))),
      ...set(13, add(get(1), i32(4))),
      ...repeatWhile(lessThan(get(13), get(2)), [
        ...set(11, subtract(get(11), i32(4))),
        ...set(12, add(get(12), i32(4))),
        ...set(16, vLoadSplat(get(13))),
        ...set(14, vAdd(get(14), vMultiply(get(16), vAdd(vLoad(get(11)), vLoad(get(12)))))),
        ...set(15, vAdd(get(15), vMultiply(get(16), vAdd(vLoad(get(11), 16), vLoad(get(12), 16))))),
        ...set(13, add(get(13), i32(4))),
      ]),
      ...[0, 16].flatMap((offset) => {
        const here = (row: number) => vLoad(add(get(row), get(10)), offset);
        const sky = vAdd(here(5), vMultiply(get(17), here(6)));
        const light = vSubtract(get(offset === 0 ? 14 : 15), vMultiply(sky, here(8)));
        return vStore(add(get(3), get(10)), vMultiply(light, here(9)), offset);
      }),
      ...set(10, add(get(10), i32(STEP))),
    ]),
  ],
};

/** findAbove(row, threshold, bytes, list) -> end of list: byte offsets of groups of four with one above its threshold. */
const findAbove: FunctionText = {
  name: "findAbove",
  parameters: [I32, I32, I32, I32],
  result: true,
  locals: [I32],
  body: [
    repeatWhile(lessThan(get(4), get(2)), [
      ...when(vAnyTrue(vGreater(vLoad(add(get(0), get(4))), vLoad(add(get(1), get(4))))), [
        ...store(get(3), get(4)),
        ...set(3, add(get(3), i32(4))),
      ]),
      ...set(4, add(get(4), i32(16))),
    ]),
    get(3),
  ],
};

export interface FilterKernel {
  memory: WebAssembly.Memory;
  widen(from: number, to: number, end: number, pedestal: number): void;
  sumRows(table: number, weights: number, weightsEnd: number, out: number, bytes: number): void;
  sumColumns(
    centre: number,
    weights: number,
    weightsEnd: number,
    out: number,
    bytes: number,
    sky: number,
    slope: number,
    way: number,
    sum: number,
    gain: number,
  ): void;
  findAbove(row: number, threshold: number, bytes: number, list: number): number;
}

/** The vector loops of the matched filter over a memory of at least `bytes`; addresses are bytes in it. */
export function makeFilterKernel(bytes: number): FilterKernel {
  const pages = Math.ceil(bytes / 65536);
  const code = assembleModule([widen, sumRows, sumColumns, findAbove], pages);
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(code));
  return exports as unknown as FilterKernel;
}
