const known = new WeakMap<object, string>();

/**
 * Data as JSON, written once however often it is asked for: a train's results, several hundred kilobytes of text, are looked
 * through, published and digested. Nothing may change them in between.
 */
export function writeJsonText(data: object): string {
  const before = known.get(data);
  if (before !== undefined) return before;
  const text = JSON.stringify(data);
  known.set(data, text);
  return text;
}
