import type { Token } from "markdown-it";
import { sortByNearness } from "../../maths/edit-distance.ts";
import type { PageFinding } from "../list-findings.ts";
import { type ParsedProse, readMeta } from "./parse-prose.ts";
import { findPlaceable, type Placeable, type PlaceIndex } from "./place-index.ts";

/** What the placings of a review mean, by the token that stands for each. */
export interface PlacedProse {
  /** Figures and tables that stand in the prose, in its order. */
  placed: Map<Token, Placeable>;
  findings: Map<Token, PageFinding>;
  /** Mentions of figures and tables; `capital` where a sentence begins with one. */
  mentions: Map<Token, Placeable & { capital: boolean }>;
}

/** Tokens of placings, those within side notes included, in reading order. */
function listPlacings(tokens: readonly Token[]): Token[] {
  return tokens.flatMap((token): Token[] => {
    if (token.type !== "placing" && token.type !== "placing_block") return listPlacings(token.children ?? []);
    return [token, ...listPlacings(readMeta(token).note)];
  });
}

/** Finds what each placing means; what means nothing, or is placed twice, is told as a fault of the prose. */
export function placeProse(
  prose: ParsedProse,
  index: PlaceIndex,
  findings: readonly PageFinding[],
): PlacedProse {
  const { faults } = prose;
  const result: PlacedProse = { placed: new Map(), findings: new Map(), mentions: new Map() };
  const standing = new Set<string>();
  for (const token of listPlacings(prose.tokens)) {
    const { placing, place } = readMeta(token);
    if (placing.kind === "value" || placing.kind === "note") continue;
    if (placing.kind === "finding") {
      const finding = findings.find(({ name }) => name === placing.text);
      if (finding !== undefined) result.findings.set(token, finding);
      else {
        const known = sortByNearness(
          placing.text,
          findings.map(({ name }) => name),
        );
        faults.add(
          "unknown-finding",
          place,
          `no finding "${placing.text.slice(0, 80)}"`,
          known.length === 0 ? "none: this train has no finding" : known.join(", "),
          known.length === 0 ? "take it out" : `write {{ finding: ${known[0]} }}`,
        );
      }
      continue;
    }
    const spoken = placing.kind === "see" ? /^(figure|table)\s+/.exec(placing.text) : null;
    if (placing.kind === "see" && spoken === null) {
      faults.add(
        "unknown-name",
        place,
        `"${placing.text.slice(0, 80)}" behind see:`,
        "figure or table, its name and, where it has one, its test",
        "write {{ see: figure ledger }} for instance",
      );
      continue;
    }
    const kind = placing.kind === "see" ? (spoken?.[1] as "figure" | "table") : placing.kind;
    const found = findPlaceable(index, kind, placing.text.slice(spoken?.[0].length ?? 0));
    if (!("id" in found)) {
      const fix =
        placing.kind === "see"
          ? found.fix.replace("{{ ", "{{ see: ").replace(`${kind}: `, `${kind} `)
          : found.fix;
      faults.add(`unknown-${kind}`, place, found.found, found.allowed, fix);
    } else if (placing.kind === "see") {
      result.mentions.set(token, { ...found, capital: placing.capital });
    } else if (standing.has(found.id)) {
      faults.add(
        "placed-twice",
        place,
        `${kind} "${placing.text}", which stands in the prose already`,
        "each figure and table once",
        `write {{ see: ${kind} ${placing.text} }} to point to it`,
      );
    } else {
      standing.add(found.id);
      result.placed.set(token, found);
    }
  }
  return result;
}
