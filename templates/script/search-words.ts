/** A report as the search looks through it. */
export interface SearchEntry {
  name: string;
  href: string;
  parts: string[];
  findings: string[];
  prose: string;
}

export interface SearchHit {
  name: string;
  href: string;
  /** A sentence or two about the first word met, cut at spaces. */
  excerpt: string;
}

/** Signs kept about a word in an excerpt. */
const reach = 90;

/** Small letters without accents, so that "Zürich" is found by "zurich". */
export function foldText(text: string): string {
  return text
    .normalize("NFD")
    .replace(/\p{Diacritic}/gu, "")
    .toLowerCase();
}

/** What a word is worth where it stands: in the name, in a part, in a finding, in the prose. */
const weights = [8, 4, 3, 1];

/**
 * Reports that hold every word asked for, at the start of a word of theirs; those with the words in name, parts and
 * findings first, then by name. Nothing is found for nothing.
 */
export function searchReports(entries: readonly SearchEntry[], asked: string): SearchHit[] {
  const words = foldText(asked)
    .split(/[^\p{L}\p{N}.]+/u)
    .filter((word) => word !== "");
  if (words.length === 0) return [];
  const hits = entries.flatMap((entry) => {
    const fields = [entry.name, entry.parts.join(" · "), entry.findings.join(" "), entry.prose];
    const folded = fields.map((field) => ` ${foldText(field)}`);
    let score = 0;
    let from: { field: number; at: number } | null = null;
    for (const word of words) {
      const found = folded.map((text) => findStart(text, word));
      if (found.every((at) => at < 0)) return [];
      found.forEach((at, k) => {
        if (at < 0) return;
        score += weights[k];
        if (from === null || from.field === 0) from = { field: k, at };
      });
    }
    const { field, at } = from ?? { field: 0, at: 0 };
    return [
      { score, hit: { name: entry.name, href: entry.href, excerpt: cutExcerpt(fields[field], at - 1) } },
    ];
  });
  return hits.sort((a, b) => b.score - a.score || (a.hit.name < b.hit.name ? -1 : 1)).map(({ hit }) => hit);
}

/** Where a word of the text begins with these signs; -1 where none does. */
function findStart(text: string, word: string): number {
  for (let at = text.indexOf(word); at >= 0; at = text.indexOf(word, at + 1)) {
    if (at > 0 && !/[\p{L}\p{N}]/u.test(text[at - 1])) return at;
  }
  return -1;
}

function cutExcerpt(text: string, at: number): string {
  const from = Math.max(0, at - reach);
  const to = Math.min(text.length, at + reach);
  const start = from === 0 ? 0 : text.indexOf(" ", from) + 1;
  const end = to === text.length ? to : text.lastIndexOf(" ", to);
  return `${start > 0 ? "… " : ""}${text.slice(start, Math.max(end, start))}${end < text.length ? " …" : ""}`;
}
