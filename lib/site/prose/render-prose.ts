import type { Token } from "markdown-it";
import { escapeHtml } from "../escape-text.ts";
import type { PageFinding } from "../list-findings.ts";
import type { PageTable } from "../page-table.ts";
import type { PlacedFigure } from "../place-figures.ts";
import { findBlockEnd } from "./find-block-end.ts";
import type { PagePhoto } from "./list-photos.ts";
import { type ParsedProse, readMeta } from "./parse-prose.ts";

/** The prose in pieces as the template prints them, in their order. */
export type ProsePart =
  | { kind: "text"; html: string }
  | { kind: "figure"; figure: PlacedFigure }
  | { kind: "table"; table: PageTable }
  | { kind: "finding"; finding: PageFinding }
  | { kind: "photo"; photo: PagePhoto };

/** What the placings of one review were found to mean. */
export interface ProseTargets {
  /** By the token that places it. */
  parts: ReadonlyMap<Token, Exclude<ProsePart, { kind: "text" }>>;
  /** "figure 7" and where it is, by the token that points there. */
  references: ReadonlyMap<Token, { href: string; text: string }>;
}

/** Prose as pieces: runs of text as HTML, and what is placed between them. Side notes follow the block that calls them. */
export function renderProse(prose: ParsedProse, targets: ProseTargets): ProsePart[] {
  const { markdown, tokens, environment } = prose;
  const notes: string[] = [];
  let noteCount = 0;
  markdown.renderer.rules["placing"] = (list, index) => {
    const { placing, html, note } = readMeta(list[index]);
    if (placing.kind === "see") {
      const target = targets.references.get(list[index]);
      return target === undefined
        ? ""
        : `<a href="${escapeHtml(target.href)}">${escapeHtml(target.text)}</a>`;
    }
    if (placing.kind !== "note") return html;
    const number = ++noteCount;
    const inner = markdown.renderer.render(note, markdown.options, environment as never);
    notes.push(
      `<p class="side sidenote" id="note-${number}"><a class="note-back" href="#note-call-${number}" aria-label="Back to the text of note ${number}"><sup>${number}</sup></a> ${inner}</p>`,
    );
    return `<sup class="note-call"><a id="note-call-${number}" href="#note-${number}" aria-label="Note ${number}">${number}</a></sup>`;
  };
  const parts: ProsePart[] = [];
  let html = "";
  const flush = () => {
    if (html !== "") parts.push({ kind: "text", html });
    html = "";
  };
  for (let at = 0; at < tokens.length; ) {
    const end = findBlockEnd(tokens, at);
    const placed = tokens
      .slice(at, end)
      .map((token) => targets.parts.get(token))
      .find((part) => part !== undefined);
    if (placed !== undefined) {
      flush();
      parts.push(placed);
    } else if (tokens[at].type !== "placing_block") {
      const block = markdown.renderer.render(tokens.slice(at, end), markdown.options, environment as never);
      const asides = notes.splice(0).join("");
      html += asides === "" ? block : `<div class="noted">${block}<div class="notes">${asides}</div></div>`;
    }
    at = end;
  }
  flush();
  return parts;
}
