import { ID_ALLOWED, ID_PATTERN } from "./field-schemas.ts";

/** Names that some systems keep for devices: a folder of that name cannot be made or copied there. */
const reservedNames = /^(con|prn|aux|nul|com\d|lpt\d)(\..*)?$/i;

/** Whether a name may be a folder of content/ and part of an address on every system. */
export function isSafeId(name: string): boolean {
  return ID_PATTERN.test(name) && !reservedNames.test(name) && !name.includes("..");
}

export { ID_ALLOWED };

const longestId = 64;

/**
 * The safe id nearest to a name: "Tarnlight 115 / R79" gives "tarnlight-115-r79". Null where nothing of the name can
 * be kept.
 */
export function makeSafeId(name: string): string | null {
  const plain = name
    .slice(0, 1000)
    .normalize("NFKD")
    .replace(/ß/g, "ss")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    // A point inside a number is worth keeping ("f5.6"); elsewhere it would read as a file's ending.
    .replace(/(?<!\d)\.|\.(?!\d)/g, "-")
    .replace(/[^a-z0-9.]+/g, "-")
    .slice(0, longestId)
    .replace(/^[-.]+|[-.]+$/g, "");
  const id = reservedNames.test(plain) ? `train-${plain}` : plain;
  return isSafeId(id) ? id : null;
}
