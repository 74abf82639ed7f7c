import type { MarkdownIt, StateBlock, StateInline, Token } from "markdown-it";
import { sortByNearness } from "../../maths/edit-distance.ts";
import type { TrainResults } from "../../report/results.ts";
import { findEvidence } from "../find-evidence.ts";
import { makeMarkdown } from "../render-markdown.ts";
import { findValue } from "./find-value.ts";
import { printValue, valueWords } from "./print-value.ts";
import { ProseFaults, type ProsePlace } from "./prose-faults.ts";
import { blockKinds, findPlacingEnd, type Placing, placingKinds, readPlacing } from "./read-placing.ts";

/** Carried by a token of a placing. */
export interface PlacingMeta {
  placing: Placing;
  place: ProsePlace;
  /** HTML of a value, "" for the rest. */
  html: string;
  /** Inline tokens of a side note. */
  note: Token[];
}

/** What the rules share while one review is read. */
export interface ProseEnvironment {
  results: TrainResults;
  faults: ProseFaults;
  /** The review's lines, to find a placing's column. */
  lines: string[];
  /** Line of the block that is being read, from 0. */
  line: number;
  /** Where to look for the next placing of a line. */
  cursors: Map<number, number>;
  placings: number;
}

export interface ParsedProse {
  tokens: Token[];
  markdown: MarkdownIt;
  environment: ProseEnvironment;
  faults: ProseFaults;
}

/** An account with more values than this is no account. */
const mostPlacings = 2000;

const writeMeta = (meta: PlacingMeta): Record<string, unknown> => ({ ...meta });

/** What a placing's token carries. */
export function readMeta(token: Token): PlacingMeta {
  return token.meta as unknown as PlacingMeta;
}

/** Reads the author's prose; every value in it is looked up, every fault told with its place. Nothing of it is run. */
export function parseProse(results: TrainResults, text: string, file: string): ParsedProse {
  const faults = new ProseFaults(file);
  const environment: ProseEnvironment = {
    results,
    faults,
    lines: text.split("\n"),
    line: 0,
    cursors: new Map(),
    placings: 0,
  };
  const markdown = makeMarkdown();
  markdown.block.ruler.before("fence", "placing", readBlock, { alt: ["paragraph", "reference"] });
  markdown.inline.ruler.before("link", "placing", readInline);
  // As the library's own, but each block's line is known to the rules within it.
  markdown.core.ruler.at("inline", (state) => {
    const shared = state.env as unknown as ProseEnvironment;
    for (const token of state.tokens) {
      if (token.map !== null) shared.line = token.map[0];
      if (token.type === "inline")
        state.md.inline.parse(token.content, state.md, state.env, token.children ?? []);
    }
  });
  const tokens = markdown.parse(text, environment as never);
  rankHeadings(tokens);
  for (const rule of ["heading_open", "heading_close"]) delete markdown.renderer.rules[rule];
  return { tokens, markdown, environment, faults };
}

/** The page's own headings go down to the second level; the author's follow without a gap, whichever they began with. */
function rankHeadings(tokens: readonly Token[]): void {
  const headings = tokens.filter(({ type }) => type === "heading_open" || type === "heading_close");
  const levels = [...new Set(headings.map(({ tag }) => Number(tag.slice(1))))].sort();
  for (const heading of headings) {
    const rank = levels.indexOf(Number(heading.tag.slice(1)));
    heading.tag = `h${Math.min(6, 3 + rank)}`;
  }
}

function locate(shared: ProseEnvironment, line: number, raw: string): ProsePlace {
  const source = shared.lines[line] ?? "";
  const at = source.indexOf(raw.split("\n")[0], shared.cursors.get(line) ?? 0);
  if (at >= 0) shared.cursors.set(line, at + 2);
  return { line: line + 1, column: Math.max(0, at) + 1 };
}

function readBlock(state: StateBlock, startLine: number, _endLine: number, silent: boolean): boolean {
  if (state.level !== 0 || state.sCount[startLine] - state.blkIndent >= 4) return false;
  const from = state.bMarks[startLine] + state.tShift[startLine];
  const text = state.src.slice(from, state.eMarks[startLine]).trim();
  if (!text.startsWith("{{") || findPlacingEnd(text, 0) !== text.length) return false;
  const { placing } = readPlacing(text.slice(2, -2));
  if (placing === null || placing.kind === "value" || !blockKinds.includes(placing.kind)) return false;
  if (silent) return true;
  const shared = state.env as unknown as ProseEnvironment;
  const token = state.push("placing_block", "", 0);
  token.map = [startLine, startLine + 1];
  token.meta = writeMeta({ placing, place: locate(shared, startLine, text), html: "", note: [] });
  state.line = startLine + 1;
  return true;
}

function readInline(state: StateInline, silent: boolean): boolean {
  if (!state.src.startsWith("{{", state.pos)) return false;
  const shared = state.env as unknown as ProseEnvironment;
  const end = findPlacingEnd(state.src, state.pos);
  if (silent) {
    state.pos = end < 0 ? state.pos + 2 : end;
    return true;
  }
  const line = shared.line + state.src.slice(0, state.pos).split("\n").length - 1;
  const raw = end < 0 ? "{{" : state.src.slice(state.pos, end);
  const place = locate(shared, line, raw);
  if (end < 0) {
    shared.faults.add(
      "not-closed",
      place,
      "{{ without }}",
      "a name between {{ and }}",
      "write }} behind the name; for the signs themselves write \\{{",
    );
    state.pos += 2;
    return true;
  }
  state.pos = end;
  shared.placings++;
  if (shared.placings > mostPlacings) {
    shared.faults.add(
      "too-many",
      { line: 1, column: 1 },
      `more than ${mostPlacings} placings`,
      "fewer",
      "shorten it",
    );
    return true;
  }
  const meta = makeMeta(state, raw.slice(2, -2), place, line);
  if (meta === null) return true;
  const token = state.push("placing", "", 0);
  token.meta = writeMeta(meta);
  return true;
}

function makeMeta(state: StateInline, inner: string, place: ProsePlace, line: number): PlacingMeta | null {
  const shared = state.env as unknown as ProseEnvironment;
  const read = readPlacing(inner);
  if (read.placing === null) {
    const kinds = sortByNearness(read.unknown, placingKinds);
    shared.faults.add(
      "unknown-kind",
      place,
      `"${read.unknown}:"`,
      `${kinds.join(":, ")}: or the name of a value`,
      `write ${kinds[0]}:, or take the colon out`,
    );
    return null;
  }
  const { placing } = read;
  if (placing.kind === "value") return { placing, place, html: lookUp(state, placing, place), note: [] };
  if (blockKinds.includes(placing.kind)) {
    shared.faults.add(
      "not-alone",
      place,
      `a ${placing.kind} within a paragraph, list or quotation`,
      "a line of its own at the left edge",
      "put it on a line of its own, between empty lines",
    );
    return null;
  }
  if (placing.kind === "see") return { placing, place, html: "", note: [] };
  if (state.linkLevel > 0) {
    shared.faults.add(
      "not-alone",
      place,
      "a side note within a link",
      "a side note in the running text",
      "put it behind the link",
    );
    return null;
  }
  const note: Token[] = [];
  const before = shared.line;
  shared.line = line;
  state.md.inline.parse(placing.text, state.md, state.env, note);
  shared.line = before;
  if (placing.text === "")
    shared.faults.add(
      "no-words",
      place,
      "an empty side note",
      "some words",
      "write the note, or take it out",
    );
  return { placing, place, html: "", note };
}

/** The value's HTML; "" where it cannot be printed, which is then told. */
function lookUp(state: StateInline, placing: { path: string; words: string[] }, place: ProsePlace): string {
  const { results, faults } = state.env as unknown as ProseEnvironment;
  const wrong = placing.words.find((word) => !valueWords.some((known) => known === word));
  if (wrong !== undefined) {
    const nearest = sortByNearness(wrong, valueWords);
    faults.add(
      "unknown-word",
      place,
      `"${wrong}" behind the name`,
      valueWords.join(", "),
      `write ${nearest[0]}, or take it out`,
    );
    return "";
  }
  const found = findValue(results, placing.path);
  if ("missing" in found) {
    const where = found.after === "" ? "the results" : found.after;
    const [nearest] = found.nearest;
    faults.add(
      "unknown-name",
      place,
      `${placing.path === "" ? "no name" : `"${found.missing}"`}, which ${where} has not`,
      found.nearest.length === 0 ? "nothing can follow there" : found.nearest.join(", "),
      nearest === undefined
        ? `write ${found.after} alone`
        : `write ${found.after === "" ? "" : `${found.after}.`}${nearest}`,
    );
    return "";
  }
  const [link] = findEvidence(results, [found.path]);
  const printed = printValue(found.value, found.key, placing.words, link.href);
  if ("problem" in printed) {
    faults.add(
      "no-value",
      place,
      `${placing.path}, ${printed.problem}`,
      printed.allowed,
      "name another value, or say it in words",
    );
    return "";
  }
  return state.linkLevel > 0 ? printed.html.replace(/^<a [^>]*>|<\/a>$/g, "") : printed.html;
}
