import { mkdirSync } from "node:fs";
import { writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { formatCsv } from "../draw/format-csv.ts";
import { makeStandalone } from "../draw/frame-figure.ts";
import type { TrainResults } from "../report/results.ts";
import type { TrainPage } from "./train-page.ts";

/** Results, records, CSV of every figure and table and SVG of every figure, beside the train's page. */
export async function writeTrainFiles(
  results: TrainResults,
  page: TrainPage,
  trainDir: string,
): Promise<void> {
  const files: [string, string][] = [
    ["results.json", `${JSON.stringify(results)}\n`],
    ...page.records.map(({ href, text }): [string, string] => [href, text]),
    ...page.allTables.map(({ id, csv }): [string, string] => [`tables/${id}.csv`, formatCsv(csv)]),
    ...page.allFigures.map(({ csvFile, data }): [string, string] => [csvFile, formatCsv(data)]),
    ...page.allFigures.map(({ svgFile, svg }): [string, string] => [
      svgFile,
      makeStandalone(pointFromFolder(svg)),
    ]),
  ];
  for (const dir of new Set(files.map(([name]) => dirname(join(trainDir, name)))))
    mkdirSync(dir, { recursive: true });
  await Promise.all(files.map(([name, text]) => writeFile(join(trainDir, name), text)));
}

/** Cut-outs are addressed from the page; a drawing saved in `figures/` reaches them one step up. */
function pointFromFolder(svg: string): string {
  return svg.replace(/(<image\b[^>]*?\shref=")(?=tests\/)/g, "$1../");
}
