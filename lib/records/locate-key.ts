import { type Document, isAlias, isMap, isNode, isScalar, isSeq, type Node } from "yaml";

/** Line and column, both from 1. */
export interface Place {
  line: number;
  column: number;
}

/**
 * Where `path` stands in the document: its key, or its value. Where the path ends early (a key that is missing), the
 * key of the innermost mapping that exists; the first key of the record where that is the record itself.
 */
export function locateKey(
  document: Document,
  path: readonly PropertyKey[],
  at: "key" | "value",
  placeAt: (offset: number) => Place,
): Place {
  let node: unknown = document.contents;
  let found = firstOffset(node);
  for (let depth = 0; depth < path.length; depth++) {
    if (isAlias(node)) node = node.resolve(document);
    const step = path[depth];
    let key: unknown = null;
    let value: unknown = null;
    if (isMap(node)) {
      const pair = node.items.find((item) => isScalar(item.key) && String(item.key.value) === String(step));
      if (pair === undefined) break;
      key = pair.key;
      value = pair.value;
    } else if (isSeq(node) && typeof step === "number" && step < node.items.length) {
      value = node.items[step];
      key = value;
    } else break;
    const isLast = depth === path.length - 1;
    const chosen = isLast && at === "value" && hasText(value) ? value : key;
    found = firstOffset(chosen) ?? found;
    node = value;
  }
  return placeAt(found ?? 0);
}

function hasText(node: unknown): boolean {
  return isNode(node) && !(isScalar(node) && node.value === null && node.source === "");
}

function firstOffset(node: unknown): number | undefined {
  return isNode(node) ? (node as Node).range?.[0] : undefined;
}
