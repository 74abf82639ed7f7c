import type { Token } from "markdown-it";
import type { PageTable } from "../page-table.ts";
import type { PlacedFigure } from "../place-figures.ts";
import type { PagePhoto } from "./list-photos.ts";
import type { ParsedProse } from "./parse-prose.ts";
import type { PlacedProse } from "./place-prose.ts";
import { type ProsePart, type ProseTargets, renderProse } from "./render-prose.ts";

/** A review that was read, with its photos on the site. */
export interface ReadProse {
  parsed: ParsedProse;
  photos: ReadonlyMap<Token, PagePhoto>;
}

/** The review in pieces for the template, once figures and tables have their numbers. */
export function makeProse(
  prose: ReadProse,
  placed: PlacedProse,
  figures: readonly PlacedFigure[],
  tables: readonly PageTable[],
): ProsePart[] {
  const parts = new Map<Token, Exclude<ProsePart, { kind: "text" }>>();
  const references = new Map<Token, { href: string; text: string }>();
  for (const [token, { kind, id }] of placed.placed) {
    const figure = kind === "figure" ? figures.find((other) => other.id === id) : undefined;
    const table = kind === "table" ? tables.find((other) => other.id === id) : undefined;
    if (figure !== undefined) parts.set(token, { kind: "figure", figure });
    if (table !== undefined) parts.set(token, { kind: "table", table });
  }
  for (const [token, finding] of placed.findings) parts.set(token, { kind: "finding", finding });
  for (const [token, photo] of prose.photos) parts.set(token, { kind: "photo", photo });
  for (const [token, { kind, id, capital }] of placed.mentions) {
    const list = kind === "figure" ? figures : tables;
    const number = list.find((other) => other.id === id)?.number ?? 0;
    const word = capital ? `${kind.charAt(0).toUpperCase()}${kind.slice(1)}` : kind;
    references.set(token, { href: `#${id}`, text: `${word}\u00a0${number}` });
  }
  const targets: ProseTargets = { parts, references };
  return renderProse(prose.parsed, targets);
}
