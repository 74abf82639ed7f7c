import { createHash, type Hash } from "node:crypto";

/** Digests of objects that will not be changed any more; empty until first asked for. */
const settled = new WeakMap<object, string>();

/**
 * Says that an object and all it holds will not be changed any more: its digest is then computed once, wherever it stands.
 * Only who made the object can say so.
 */
export function settle<Value extends object>(value: Value): Value {
  if (!settled.has(value)) settled.set(value, "");
  return value;
}

/**
 * SHA-256 of plain data, hexadecimal. Equal for equal data whatever the order of an object's keys; -0 and 0 differ, all
 * NaN are one, and a settled object differs from one that is not. Throws TypeError on functions and the like, which are no
 * data.
 */
export function digestData(value: unknown): string {
  const writer = new DigestWriter();
  writer.add(value);
  return writer.finish();
}

/** What a piece of data is, before its content. */
const tags = {
  number: 1,
  text: 2,
  list: 3,
  object: 4,
  bytes: 5,
  settled: 6,
  null: 7,
  undefined: 8,
  true: 9,
  false: 10,
};

/** Bytes gathered before they are hashed: a call for each number would take ten times as long. */
const bufferBytes = 1 << 14;

class DigestWriter {
  private readonly hash: Hash = createHash("sha256");
  private readonly bytes = new Uint8Array(bufferBytes);
  private readonly view = new DataView(this.bytes.buffer);
  private used = 0;

  finish(): string {
    this.flush();
    return this.hash.digest("hex");
  }

  add(value: unknown): void {
    if (typeof value === "number") {
      const at = this.tag(tags.number, 8);
      this.view.setFloat64(at, value, true);
    } else if (typeof value === "string") this.addText(tags.text, value);
    else if (value === null) this.tag(tags.null, 0);
    else if (value === undefined) this.tag(tags.undefined, 0);
    else if (typeof value === "boolean") this.tag(value ? tags.true : tags.false, 0);
    else if (typeof value === "object") this.addObject(value);
    else throw new TypeError(`a ${typeof value} is no plain data`);
  }

  private addObject(value: object): void {
    const known = settled.get(value);
    if (known === undefined) this.addContent(value);
    else this.addText(tags.settled, known === "" ? digestSettled(value) : known);
  }

  addContent(value: object): void {
    if (ArrayBuffer.isView(value)) {
      this.addText(tags.bytes, value.constructor.name);
      this.addBytes(new Uint8Array(value.buffer, value.byteOffset, value.byteLength));
    } else if (Array.isArray(value)) {
      this.addCount(tags.list, value.length);
      for (const item of value) this.add(item);
    } else {
      const kind = Object.getPrototypeOf(value)?.constructor.name ?? "Object";
      if (kind !== "Object") throw new TypeError(`a ${kind} is no plain data`);
      const keys = Object.keys(value).sort();
      const listed = keys.filter((key) => (value as Record<string, unknown>)[key] !== undefined);
      this.addCount(tags.object, listed.length);
      for (const key of listed) {
        this.addText(tags.text, key);
        this.add((value as Record<string, unknown>)[key]);
      }
    }
  }

  private addText(tag: number, text: string): void {
    const bytes = Buffer.from(text, "utf8");
    this.tag(tag, 0);
    this.addBytes(bytes);
  }

  private addBytes(bytes: Uint8Array): void {
    this.addCount(tags.bytes, bytes.length);
    if (bytes.length <= bufferBytes - this.used) {
      this.bytes.set(bytes, this.used);
      this.used += bytes.length;
    } else {
      this.flush();
      this.hash.update(bytes);
    }
  }

  private addCount(tag: number, count: number): void {
    this.view.setUint32(this.tag(tag, 4), count, true);
  }

  /** Writes a tag and makes room for what follows; yields the place of that. */
  private tag(tag: number, room: number): number {
    if (this.used + room + 1 > bufferBytes) this.flush();
    this.bytes[this.used] = tag;
    this.used += room + 1;
    return this.used - room;
  }

  private flush(): void {
    this.hash.update(this.bytes.subarray(0, this.used));
    this.used = 0;
  }
}

function digestSettled(value: object): string {
  const writer = new DigestWriter();
  writer.addContent(value);
  const digest = writer.finish();
  settled.set(value, digest);
  return digest;
}
