import type { Figure } from "../draw/figure.ts";
import type { Fault } from "../fault.ts";
import type { SiteRecord } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import type { PageBackFocus } from "./back-focus-section.ts";
import { makeBackFocusSection } from "./back-focus-section.ts";
import { listCauseTables } from "./causes-section.ts";
import { safetyCautions } from "./cautions.ts";
import { listSteps, makeChangeSection } from "./change-section.ts";
import { type ComparisonLink, listComparisons } from "./compared-with.ts";
import { describeTrain, joinByline } from "./describe-train.ts";
import { makeDisclosureSection, type PageDisclosure } from "./disclosure-section.ts";
import { isDraft } from "./draft.ts";
import { makeEquipmentSection, type PageEquipment } from "./equipment-section.ts";
import { cutText } from "./escape-text.ts";
import type { KeyNumber } from "./key-numbers.ts";
import { listKeyNumbers, sortNewestFirst } from "./key-numbers.ts";
import type { PageLedger } from "./ledger-section.ts";
import { makeLedgerSection } from "./ledger-section.ts";
import { makeLightSection } from "./light-section.ts";
import type { PageFinding } from "./list-findings.ts";
import { listFindings } from "./list-findings.ts";
import { nameRecordFiles } from "./name-record-files.ts";
import type { PageTable } from "./page-table.ts";
import { finishTables } from "./page-table.ts";
import type { PlacedFigure } from "./place-figures.ts";
import { placeFigures } from "./place-figures.ts";
import { makeProse, type ReadProse } from "./prose/make-prose.ts";
import { indexPlaceables } from "./prose/place-index.ts";
import { placeProse } from "./prose/place-prose.ts";
import type { ProsePart } from "./prose/render-prose.ts";
import { joinTrainAddress } from "./publication/page-address.ts";
import { makePublication, type PagePublication } from "./publication/page-publication.ts";
import { nameKey, samplingWords } from "./sampling-words.ts";
import { spellUnits } from "./spell-units.ts";
import type { PageTest } from "./test-section.ts";
import { makeTestSection } from "./test-section.ts";
import type { WorkedNumber } from "./worked-number.ts";
import { makeWorkedNumber } from "./worked-number.ts";
import type { WrittenSheet } from "./write-sheets.ts";

/** All that a train's page prints, in its order; the template adds structure and nothing else. */
export interface TrainPage {
  id: string;
  name: string;
  /** Name for the window's title, cut to what a tab or a list of results can show. */
  shortName: string;
  opening: string;
  byline: string;
  language: string;
  address: string | null;
  findings: PageFinding[];
  keyNumbers: KeyNumber[];
  figures: PlacedFigure[];
  ledger: PageLedger | null;
  /** Comparisons that the train takes part in. */
  comparisons: ComparisonLink[];
  /** Where the tilt sits, as tests at several camera angles and altitudes tell; null where too few do. */
  tiltOrigin: string | null;
  tests: PageTest[];
  sampling: WorkedNumber[];
  /** Numbers that a reader may want beside the main ones; folded away on the page. */
  moreSampling: WorkedNumber[];
  moreBackFocus: WorkedNumber[];
  backFocus: PageBackFocus | null;
  withoutBackFocus: string;
  /** The author's account in pieces; empty where there is none. */
  prose: ProsePart[];
  isDraft: boolean;
  /** The author's own sentence, else the opening. */
  description: string;
  equipment: PageEquipment | null;
  disclosure: PageDisclosure;
  records: { file: string; text: string; href: string; language: string }[];
  provenance: TrainResults["provenance"];
  /** What limits these measurements: of the whole train, then night by night. */
  warnings: string[];
  safety: readonly string[];
  allFigures: PlacedFigure[];
  allTables: readonly PageTable[];
  /** What is wrong with the prose: nothing may be published with it. */
  proseFaults: readonly Fault[];
  publication: PagePublication;
  /** Whether a length stands in several units, so that the script may offer the switch. */
  hasUnits: boolean;
}

/** The page's content from the results and the figures drawn from them; pure, the same every time. */
export function makeTrainPage(
  results: TrainResults,
  figures: readonly Figure[],
  site: SiteRecord,
  moreWarnings: readonly string[] = [],
  sheets: readonly WrittenSheet[] = [],
  prose: ReadProse | null = null,
): TrainPage {
  const tests = sortNewestFirst(results.tests);
  const findings = listFindings(results);
  const equipment = makeEquipmentSection(results);
  const inTime = [...tests].reverse();
  const withoutFigures = tests.map((test) => {
    const at = inTime.indexOf(test);
    return {
      ...makeTestSection(
        test,
        [],
        sheets.filter(({ testId }) => testId === test.id),
        makeLightSection(results, test),
      ),
      steps: listSteps(inTime, at),
      change: at === 0 ? null : makeChangeSection(inTime[at - 1], test),
    };
  });
  const backFocus = makeBackFocusSection(results);
  const ledger = makeLedgerSection(results.ledger);
  const tables = [
    ...(equipment === null ? [] : [equipment.table]),
    ...(ledger === null ? [] : [ledger.table]),
    ...withoutFigures.flatMap(({ framesTable, zoneTables, causes, colour, edge, change, light }) => [
      ...(change?.table ? [change.table] : []),
      ...listCauseTables(causes),
      ...(light?.tables ?? []),
      ...(colour?.tables ?? []),
      ...(edge?.table ? [edge.table] : []),
      ...(framesTable ? [framesTable] : []),
      ...zoneTables,
    ]),
    ...(backFocus === null ? [] : [backFocus.table]),
  ];
  const places = placeReview(prose, figures, tables, results, findings);
  const placed = placeFigures(figures, results.tests, tests, places.figureIds);
  const sections = withoutFigures.map((section) => ({
    ...section,
    figures: placed.ofTest.get(section.id) ?? [],
  }));
  const allTables = finishTables(sortTables(tables, places.tableIds));
  const allFigures = [...placed.ofTrain, ...sections.flatMap((section) => section.figures)].sort(
    (one, other) => one.number - other.number,
  );
  return {
    id: results.id,
    name: results.name,
    shortName: cutText(results.name, 50),
    opening: describeTrain(results),
    byline: joinByline(results.page.author, results.page.club),
    language: site.language,
    address: joinTrainAddress(site, results.id),
    findings,
    keyNumbers: listKeyNumbers(results),
    figures: placed.ofTrain,
    ledger,
    comparisons: listComparisons(results.comparisons, "../../"),
    tiltOrigin: results.tiltSources ? spellUnits(results.tiltSources.sentence) : null,
    tests: sections,
    sampling: Object.entries(results.sampling).map(([key, quantity]) => {
      const words = samplingWords[key];
      return makeWorkedNumber(
        `sampling-${key}`,
        words?.label ?? nameKey(key),
        words?.meaning ?? "",
        quantity,
      );
    }),
    moreSampling: listExtras(results.extras?.sampling ?? []),
    backFocus,
    moreBackFocus: listExtras(results.extras?.backFocus ?? []),
    withoutBackFocus: "This train has no corrector, so there is no back focus to keep.",
    prose: places.makeParts(allFigures, allTables),
    proseFaults: prose?.parsed.faults.list ?? [],
    isDraft: isDraft(results),
    description: results.page.summary || describeTrain(results),
    equipment,
    disclosure: makeDisclosureSection(results),
    records: nameRecordFiles(results),
    provenance: results.provenance,
    warnings: [...moreWarnings, ...results.page.cautions],
    safety: safetyCautions,
    allFigures,
    allTables,
    publication: makePublication(results, site, results.page.summary || describeTrain(results)),
    hasUnits: sections.some(({ zoneTables }) => zoneTables.length > 0),
  };
}

/** What the review places, in its order, and a way to put it together once everything has its number. */
function placeReview(
  prose: ReadProse | null,
  figures: readonly Figure[],
  tables: readonly PageTable[],
  results: TrainResults,
  findings: readonly PageFinding[],
): {
  figureIds: string[];
  tableIds: string[];
  makeParts: (figures: readonly PlacedFigure[], tables: readonly PageTable[]) => ProsePart[];
} {
  if (prose === null) return { figureIds: [], tableIds: [], makeParts: () => [] };
  const index = indexPlaceables(
    [
      ...figures.map(({ id }) => ({ kind: "figure" as const, id })),
      ...tables.map(({ id }) => ({ kind: "table" as const, id })),
    ],
    results.tests,
  );
  const placed = placeProse(prose.parsed, index, findings);
  const listIds = (kind: "figure" | "table") =>
    [...placed.placed.values()].filter((place) => place.kind === kind).map(({ id }) => id);
  return {
    figureIds: listIds("figure"),
    tableIds: listIds("table"),
    makeParts: (allFigures, allTables) => makeProse(prose, placed, allFigures, allTables),
  };
}

/** Tables in page order: those that the prose places come first, in its order. Marks these. */
function sortTables(tables: readonly PageTable[], inProse: readonly string[]): PageTable[] {
  const placed = inProse.flatMap((id) => tables.filter((table) => table.id === id));
  for (const table of placed) table.inProse = true;
  return [...placed, ...tables.filter((table) => !placed.includes(table))];
}

function listExtras(extras: NonNullable<TrainResults["extras"]>["sampling"]): WorkedNumber[] {
  return extras.map(({ id, name, quantity, explanation }) =>
    makeWorkedNumber(`more-${id}`, name, explanation, quantity),
  );
}
