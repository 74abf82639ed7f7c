import type { Figure } from "../draw/figure.ts";
import { hasOneScale } from "../draw/one-scale.ts";
import type { SiteRecord } from "../records/types.ts";
import type { ComparedSide, Comparison } from "../report/results.ts";
import { splitSentences } from "./compared-with.ts";
import { listZoneTables, makeMatchedTable, makeVerdictTable } from "./comparison-tables.ts";
import { joinByline } from "./describe-train.ts";
import { makeEquipmentTable, makeNightsTable, makeScaleTable } from "./equipment-tables.ts";
import { cutText } from "./escape-text.ts";
import { formatDate } from "./format-number.ts";
import type { PageTable } from "./page-table.ts";
import { finishTables } from "./page-table.ts";
import { type PlacedFigure, placeFigure } from "./place-figures.ts";
import { joinReportAddress } from "./publication/page-address.ts";
import { nameSingleFile } from "./publication/page-publication.ts";
import { spellUnits } from "./spell-units.ts";
import { makeWorkedNumber, type WorkedNumber } from "./worked-number.ts";

export interface PageSide {
  letter: "A" | "B";
  name: string;
  /** Date and spacers, in words. */
  state: string;
  /** The train's page, at this test where there is one. */
  href: string;
}

/** All that a comparison's page prints, in its order. */
export interface ComparisonPage {
  id: string;
  name: string;
  shortName: string;
  byline: string;
  address: string | null;
  /** Name of the file that holds the whole page, beside it. */
  singleFile: string;
  sides: PageSide[];
  overall: string[];
  units: { name: string; sentence: string }[];
  shoot: string[];
  verdictTable: PageTable;
  strip: PlacedFigure[];
  cutouts: PlacedFigure[];
  curves: PlacedFigure[];
  hasOneScale: boolean;
  zoneTables: PageTable[];
  matchedTable: PageTable | null;
  withoutMatched: string | null;
  scale: WorkedNumber[];
  scaleSentences: string[];
  scaleTable: PageTable | null;
  equipmentTable: PageTable;
  nightsSentence: string;
  nightsTable: PageTable;
  cautions: string[];
  allTables: readonly PageTable[];
  allFigures: PlacedFigure[];
}

function describeState({ date, spacersMm, spacingError }: ComparedSide): string {
  if (date === null) return "no test yet: only the records are compared";
  const sum = (spacersMm ?? []).reduce((total, mm) => total + mm, 0);
  const spacers = sum === 0 ? "no spacers" : `${Number(sum.toFixed(3))}\u00a0mm of spacers`;
  return `test of ${formatDate(date)}${spacingError === null ? "" : `, ${spacers}`}`;
}

function makeSide(letter: "A" | "B", side: ComparedSide, ids: Comparison["a"]): PageSide {
  const anchor = ids.test === "" ? "" : `#test-${ids.test}`;
  return {
    letter,
    name: side.trainName,
    state: describeState(side),
    href: `../../trains/${ids.train}/index.html${anchor}`,
  };
}

function listCautions(comparison: Comparison): string[] {
  const { nights, zones, sides } = comparison;
  const basis = [zones.corner.optics.a, zones.corner.optics.b].map((quantity) =>
    quantity.value === null ? null : (quantity.assumes ?? null),
  );
  const told = (["A", "B"] as const).flatMap((letter, k) =>
    basis[k] === null ? [] : [`${letter}: ${spellUnits(basis[k])}`],
  );
  return [
    ...(nights.sameNight
      ? []
      : [
          "The two tests are of different nights. Widths on the sky hold for what was seen; which optics are sharper is told by the optics’ own blur and, better, by shooting both on one night.",
        ]),
    ...(["a", "b"] as const)
      .filter((side) => nights[side].frames === 1)
      .map(
        (side) =>
          `${side.toUpperCase()} is a single frame, which does not tell how the night changed: 3 % from frame to frame (one sigma) is assumed in the differences.`,
      ),
    "The optics’ own blur is what the set-up did that night: focus, spacing and tilt are in it. It is not the best that the glass can do.",
    ...told,
    ...listScaleCautions(comparison),
    ...(["a", "b"] as const).flatMap((side) => sayChannel(side.toUpperCase(), sides[side].channel ?? null)),
    "Everything is judged on the corner zones as wholes; the tables give each corner by itself.",
  ];
}

/** By which measure of the sky the arcseconds of both sides go. */
function listScaleCautions({ sides, scales }: Comparison): string[] {
  const { a, b } = sides;
  if (a.scale === null || b.scale === null) return [];
  const changed = (
    [
      ["A", a, "B"],
      ["B", b, "A"],
    ] as const
  ).flatMap(([letter, { scale, ownScale }, other]) => {
    const factor = (scale?.arcsecPerPx ?? 1) / (ownScale?.arcsecPerPx ?? scale?.arcsecPerPx ?? 1);
    if (factor === 1) return [];
    const percent = Number(Math.abs(100 * (factor - 1)).toPrecision(2));
    return [
      `${letter}’s arcseconds go by the focal length measured against ${other}’s and are ${percent} % ${factor > 1 ? "larger" : "smaller"} here than on its own page, which goes by ${nameSource(ownScale?.from)}.`,
    ];
  });
  if (changed.length > 0 || scales?.from === "stars" || a.scale.from === b.scale.from) return changed;
  return [
    `The two scales were not measured against each other: A’s is from ${nameSource(a.scale.from)}, B’s from ${nameSource(b.scale.from)}, and arcseconds carry what these differ by.`,
  ];
}

function nameSource(from: string | undefined): string {
  return from === "record" ? "the record" : `the ${from ?? "record"}`;
}

/** Of a colour camera one colour stands for sharpness. */
function sayChannel(letter: string, channel: string | null): string[] {
  if (channel !== "G") return [];
  return [
    `${letter} is a colour camera: its green stars are compared, and at equal sampling green alone can be resampled, for red and blue sites stand two pixels apart. How sharp red and blue are stands on the page of its train.`,
  ];
}

const unitNames = [
  ["px", "Pixels"],
  ["arcsec", "On the sky"],
  ["um", "Optics alone"],
  ["matched", "Equal sampling"],
  ["oneNight", "Under one night"],
] as const;

/** The verdict without what the page's own sections on the nights and on what to shoot say in the same words. */
function listVerdictSentences({ verdict, nights }: Comparison): string[] {
  const elsewhere = new Set([...splitSentences(nights.sentence).slice(1), ...nights.shoot]);
  return splitSentences(verdict.overall)
    .filter((sentence, k) => k === 0 || !elsewhere.has(sentence))
    .map(spellUnits);
}

/** The page's content from the comparison and the figures drawn from it; pure, the same every time. */
export function makeComparisonPage(
  comparison: Comparison,
  figures: readonly Figure[],
  site: SiteRecord,
): ComparisonPage {
  const placed = figures.map((figure, k) => placeFigure(figure, k + 1));
  const pick = (start: string) => placed.filter(({ id }) => id.startsWith(start));
  const verdictTable = makeVerdictTable(comparison);
  const zoneTables = listZoneTables(comparison);
  const matchedTable = makeMatchedTable(comparison);
  const scaleTable = makeScaleTable(comparison);
  const equipmentTable = makeEquipmentTable(comparison);
  const nightsTable = makeNightsTable(comparison);
  const allTables = finishTables([
    verdictTable,
    ...zoneTables,
    ...(matchedTable === null ? [] : [matchedTable]),
    ...(scaleTable === null ? [] : [scaleTable]),
    nightsTable,
    equipmentTable,
  ]);
  return {
    id: comparison.id,
    name: comparison.name,
    shortName: cutText(comparison.name, 50),
    byline: joinByline(site.author, site.club),
    address: joinReportAddress(site, "comparisons", comparison.id),
    singleFile: nameSingleFile(comparison.id),
    sides: [makeSide("A", comparison.sides.a, comparison.a), makeSide("B", comparison.sides.b, comparison.b)],
    overall: listVerdictSentences(comparison),
    units: unitNames.map(([unit, name]) => ({
      name,
      sentence: spellUnits(comparison.verdict[unit].sentence),
    })),
    shoot: comparison.nights.shoot.map(spellUnits),
    verdictTable,
    strip: pick("fig-compare-strip"),
    cutouts: pick("fig-compare-cutouts"),
    curves: pick("fig-curve"),
    hasOneScale: hasOneScale(comparison),
    zoneTables,
    matchedTable,
    withoutMatched: comparison.matched === null ? (comparison.matchedWhy ?? null) : null,
    scale: [
      makeWorkedNumber(
        "scale-ratio",
        "Focal length of B over that of A",
        "How much larger or smaller B draws the same sky.",
        comparison.ratio,
      ),
      makeWorkedNumber(
        "scale-nominal",
        "The same by the makers’ figures",
        "What the records say it should be.",
        comparison.nominalRatio,
      ),
      makeWorkedNumber(
        "scale-rotation",
        "Turn of B against A",
        "Counter-clockwise as displayed.",
        comparison.rotation,
      ),
    ],
    scaleSentences: (comparison.scales?.sentences ?? []).map(spellUnits),
    scaleTable,
    equipmentTable,
    nightsSentence: spellUnits(comparison.nights.sentence),
    nightsTable,
    cautions: listCautions(comparison).map(spellUnits),
    allTables,
    allFigures: placed,
  };
}
