import type { Figure } from "../draw/figure.ts";
import { makeFigureId } from "../draw/frame-figure.ts";
import type { TestResults } from "../report/results.ts";
import { escapeJson } from "./escape-text.ts";
import { formatRows } from "./format-rows.ts";
import { spellUnits } from "./spell-units.ts";

/** A figure with its number on the page and the files beside it. */
export interface PlacedFigure extends Figure {
  number: number;
  /** It stands in the author's prose; its section only points there. */
  inProse: boolean;
  /** The picture as the page holds it: its rules are those of the page's stylesheet, as its content policy asks. */
  inlineSvg: string;
  /** Rows shown in the page as HTML, and how many; the CSV has all. */
  rowsHtml: string;
  rowsShown: number;
  /** Settings of the live chart, as JSON that may stand in a script; null where there is none. */
  chartJson: string | null;
  chartFile: string;
  svgFile: string;
  csvFile: string;
}

/** A list longer than a reader would go through shows what its rows are like; the whole of it is a click away, as CSV. */
const mostRows = 60;
const firstRows = 5;

/**
 * Rules and style attributes go: the content policy refuses both, and the stylesheet has the same rules. So do the colours
 * that stand in for the stylesheet's where there is none.
 */
function makeInline(svg: string): string {
  return svg
    .replace(/<style>[^<]*<\/style>/g, "")
    .replace(/(<[a-z]+\b[^>]*?)\sstyle="[^"]*"/g, "$1")
    .replace(/"var\((--[a-z0-9-]+), #[0-9a-f]{6}\)"/g, '"var($1)"');
}

/** A figure as the page holds it, with its number there. */
export function placeFigure(figure: Figure, number: number, inProse = false): PlacedFigure {
  const { rows } = figure.data;
  const rowsShown = rows.length > mostRows ? firstRows : rows.length;
  return {
    ...figure,
    title: spellUnits(figure.title),
    subtitle: spellUnits(figure.subtitle),
    alternative: spellUnits(figure.alternative),
    number,
    inProse,
    inlineSvg: makeInline(figure.svg),
    rowsHtml: formatRows(figure.data, rowsShown),
    rowsShown,
    chartJson: figure.chart === null ? null : escapeJson(figure.chart),
    svgFile: `figures/${figure.id}.svg`,
    csvFile: `figures/${figure.id}.csv`,
    chartFile: `figures/${figure.id}.chart.js`,
  };
}

/** Figures of one test carry its id at the end of their own; the longest matching end wins. */
function findTest(figure: Figure, ends: ReadonlyMap<string, string>): string | null {
  const matching = [...ends].filter(([end]) => figure.id.endsWith(end));
  return matching.sort(([a], [b]) => b.length - a.length)[0]?.[1] ?? null;
}

/**
 * Figures sorted into those of the whole train and those of each test (newest first), numbered in the order in which
 * the page shows them: the train's, those that the prose places (`inProse`, ids in its order), the tests'.
 */
export function placeFigures(
  figures: readonly Figure[],
  tests: readonly TestResults[],
  testsInPageOrder: readonly TestResults[],
  inProse: readonly string[] = [],
): { ofTrain: PlacedFigure[]; ofTest: Map<string, PlacedFigure[]> } {
  const ends = new Map(tests.map(({ id }, index) => [makeFigureId("", id, index), id]));
  const groups = new Map<string | null, Figure[]>([
    [null, []],
    ...testsInPageOrder.map(({ id }) => [id, []] as [string, Figure[]]),
  ]);
  for (const figure of figures) groups.get(findTest(figure, ends))?.push(figure);
  const isInProse = new Set(inProse);
  const inOrder = [null, ...testsInPageOrder.map(({ id }) => id)].map((id) => groups.get(id) ?? []);
  const outside = inOrder.map((group) => group.filter(({ id }) => !isInProse.has(id)));
  const numbers = new Map(
    [
      ...outside[0].map(({ id }) => id),
      ...inProse,
      ...outside.slice(1).flatMap((group) => group.map(({ id }) => id)),
    ].map((id, k) => [id, k + 1]),
  );
  const place = (figure: Figure) =>
    placeFigure(figure, numbers.get(figure.id) ?? 0, isInProse.has(figure.id));
  const ofTrain = (groups.get(null) ?? []).map(place);
  const ofTest = new Map(testsInPageOrder.map(({ id }) => [id, (groups.get(id) ?? []).map(place)]));
  return { ofTrain, ofTest };
}
