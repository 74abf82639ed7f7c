import { escapeHtml } from "../escape-text.ts";
import { spellUnits } from "../spell-units.ts";
import { opticsTerms } from "./optics-terms.ts";
import { starTerms } from "./star-terms.ts";
import type { Term } from "./term.ts";

/** Every term, by its word. */
export const glossary: readonly Term[] = [...starTerms, ...opticsTerms].sort((a, b) =>
  a.word.localeCompare(b.word, "en"),
);

/** Where a page has its own list of the terms it uses; put in by `explainTerms`. */
export const termsPlace = "<!-- terms of this page -->";

/** Text within these is not linked: it is a link or a control already, is no running text, or may be folded away. */
const closed = new Set([
  "a",
  "button",
  "summary",
  "label",
  "legend",
  "option",
  "details",
  "dialog",
  "svg",
  "math",
  "script",
  "style",
  "code",
  "pre",
  "h1",
  "h2",
  "h3",
  "nav",
]);

const byWord = new Map<string, Term>(
  glossary.flatMap((term) =>
    [term.word, ...(term.also ?? [])].map((word) => [word.toLowerCase(), term] as const),
  ),
);

/** Longest first, so that "focus sweep" is not taken for a shorter term within it. */
const pattern = new RegExp(
  `(?<![\\p{L}\\p{N}-])(${[...byWord.keys()]
    .sort((a, b) => b.length - a.length)
    .map((word) => word.replaceAll(" ", "[ \u00a0]"))
    .join("|")})s?(?![\\p{L}\\p{N}-])`,
  "giu",
);

function makeAnchor(id: string): string {
  return `term-${id}`;
}

/** One entry of a list of terms; `methods` is the address of the methods page. */
export function writeTerm(term: Term, methods: string): string {
  const measured =
    term.measured === undefined ? "" : ` <em>Measured:</em> ${escapeHtml(spellUnits(term.measured))}`;
  const more = term.more === undefined ? "" : ` <a href="${methods}#${term.more}">More in the methods</a>`;
  const word = `${term.word.charAt(0).toUpperCase()}${term.word.slice(1)}`;
  return `<dt id="${makeAnchor(term.id)}">${escapeHtml(word)}</dt><dd>${escapeHtml(spellUnits(term.meaning))}${measured}${more}</dd>`;
}

function linkText(text: string, unseen: Set<Term>, used: Term[], glossaryPage: string): string {
  return text.replace(pattern, (found: string, word: string) => {
    const term = byWord.get(word.toLowerCase().replaceAll("\u00a0", " "));
    if (term === undefined || !unseen.delete(term)) return found;
    used.push(term);
    return `<a class="term" href="${glossaryPage}#${makeAnchor(term.id)}" title="${escapeHtml(term.meaning)}">${found}</a>`;
  });
}

/** Start and end tags of each element whose text is not linked. */
const tagsOf = new Map([...closed].map((name) => [name, new RegExp(`<(/?)${name}\\b[^>]*>`, "gi")]));

/** The index behind the end of an element whose start tag ends at `from`, elements of its name within it counted. */
function skipElement(html: string, tags: RegExp, from: number): number {
  tags.lastIndex = from;
  let depth = 1;
  for (let tag = tags.exec(html); tag !== null; tag = tags.exec(html)) {
    depth += tag[1] === "/" ? -1 : tag[0].endsWith("/>") ? 0 : 1;
    if (depth === 0) return tags.lastIndex;
  }
  return html.length;
}

/**
 * A built page with each term of the glossary linked where it first stands in the running text of `<main>`. Where the page has a
 * place for it (`termsPlace`) the terms used are listed there and the links stay on the page, so that it explains itself
 * when mailed or printed; else they lead to the glossary. `root` is the way to the site's root, "../../" for a train.
 */
export function explainTerms(html: string, root: string): string {
  const start = html.indexOf("<main");
  const end = html.lastIndexOf("</main>");
  if (start < 0 || end < start) return html;
  const hasPlace = html.includes(termsPlace);
  const glossaryPage = hasPlace ? "" : `${root}glossary/index.html`;
  const unseen = new Set(glossary);
  const used: Term[] = [];
  const parts: string[] = [];
  let placed = -1;
  let kept = 0;
  let at = start;
  while (at < end && (unseen.size > 0 || (hasPlace && placed < 0))) {
    const open = html.indexOf("<", at);
    if (open < 0 || open >= end) break;
    const text = html.slice(at, open);
    const linked = /\p{L}{3}/u.test(text) ? linkText(text, unseen, used, glossaryPage) : text;
    if (linked !== text) {
      parts.push(html.slice(kept, at), linked);
      kept = open;
    }
    const close = html.startsWith("<!--", open) ? html.indexOf("-->", open) + 3 : html.indexOf(">", open) + 1;
    if (placed < 0 && html.startsWith(termsPlace, open)) {
      placed = parts.push(html.slice(kept, open), "") - 1;
      kept = close;
    }
    const name = /^<([a-z][a-z0-9]*)/i.exec(html.slice(open, open + 20))?.[1].toLowerCase();
    const tags = name === undefined ? undefined : tagsOf.get(name);
    at = tags === undefined ? close : skipElement(html, tags, close);
  }
  if (placed >= 0) {
    const listed = glossary.filter((term) => used.includes(term));
    parts[placed] = listed.map((term) => writeTerm(term, `${root}methods/index.html`)).join("\n");
  }
  return parts.join("") + html.slice(kept);
}
