import { existsSync, mkdirSync } from "node:fs";
import { writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { type CropSheet, measureSheet } from "../draw/crop-sheet.ts";
import { formatCsv } from "../draw/format-csv.ts";
import { makeStandalone } from "../draw/frame-figure.ts";
import { listComparisonFigures } from "../draw/list-comparison-figures.ts";
import type { SiteRecord } from "../records/types.ts";
import type { Comparison } from "../report/results.ts";
import { type ComparisonPage, makeComparisonPage } from "./comparison-page.ts";
import { nameSheetFiles } from "./write-sheets.ts";
import { writeChartScript } from "./write-train-files.ts";

/** A drawing saved in `figures/` lies one step deeper than the page whose addresses it has. */
function pointFromFolder(svg: string): string {
  return svg.replace(/(<image\b[^>]*?\shref=")(?=\.\.\/)/g, "$1../");
}

/**
 * Files of one comparison but its page, and what the page will print. Cut-outs are those of the trains' own pages;
 * `siteDirs` are the folders in which a train's may lie: the one being written and the standing one.
 */
export async function writeComparison(
  comparison: Comparison,
  site: SiteRecord,
  into: string,
  siteDirs: readonly string[],
): Promise<ComparisonPage> {
  const findSheet = (side: "a" | "b"): CropSheet | null => {
    const { train, test } = comparison[side];
    const path = `trains/${train}/${nameSheetFiles(test, "spokes").seen}`;
    const size = measureSheet(comparison.sides[side].cutouts);
    if (size === null || !siteDirs.some((dir) => existsSync(join(dir, path)))) return null;
    return { href: `../../${path}`, ...size, missing: new Set() };
  };
  const page = makeComparisonPage(comparison, listComparisonFigures(comparison, findSheet), site);
  const dir = join(into, "comparisons", comparison.id);
  const files: [string, string][] = [
    ["results.json", `${JSON.stringify(comparison)}\n`],
    ...page.allTables.map(({ id, csv }): [string, string] => [`tables/${id}.csv`, formatCsv(csv)]),
    ...page.allFigures.map(({ csvFile, data }): [string, string] => [csvFile, formatCsv(data)]),
    ...page.allFigures.flatMap(({ id, chartFile, chartJson }): [string, string][] =>
      chartJson === null ? [] : [[chartFile, writeChartScript(id, chartJson)]],
    ),
    ...page.allFigures.map(({ svgFile, svg }): [string, string] => [
      svgFile,
      makeStandalone(pointFromFolder(svg)),
    ]),
  ];
  for (const folder of new Set(files.map(([name]) => dirname(join(dir, name)))))
    mkdirSync(folder, { recursive: true });
  await Promise.all(files.map(([name, text]) => writeFile(join(dir, name), text)));
  return page;
}
