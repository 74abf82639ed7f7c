import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { formatCsv } from "../draw/format-csv.ts";
import { makeStandalone } from "../draw/frame-figure.ts";
import type { TrainResults } from "../report/results.ts";
import { writeJsonText } from "./json-text.ts";
import type { TrainPage } from "./train-page.ts";

/** Results, records, CSV of every figure and table and SVG of every figure, beside the train's page. */
export function writeTrainFiles(results: TrainResults, page: TrainPage, trainDir: string): void {
  const files: [string, string][] = [
    ["results.json", `${writeJsonText(results)}\n`],
    ...page.records.map(({ href, text }): [string, string] => [href, text]),
    ...page.allTables.map(({ id, csv }): [string, string] => [`tables/${id}.csv`, formatCsv(csv)]),
    ...page.allFigures.map(({ csvFile, data }): [string, string] => [csvFile, formatCsv(data)]),
    ...page.allFigures.map(({ svgFile, svg }): [string, string] => [
      svgFile,
      makeStandalone(pointFromFolder(svg)),
    ]),
    ...page.allFigures.flatMap(({ id, chartFile, chartJson }): [string, string][] =>
      chartJson === null ? [] : [[chartFile, writeChartScript(id, chartJson)]],
    ),
  ];
  for (const dir of new Set(files.map(([name]) => dirname(join(trainDir, name)))))
    mkdirSync(dir, { recursive: true });
  // Many small files: waiting for each costs less than handing each to another thread.
  for (const [name, text] of files) writeFileSync(join(trainDir, name), text);
}

/** Cut-outs are addressed from the page; a drawing saved in `figures/` reaches them one step up. */
function pointFromFolder(svg: string): string {
  return svg.replace(/(<image\b[^>]*?\shref=")(?=tests\/)/g, "$1../");
}

/** A script, and no plain JSON: pages opened from disk may load scripts alone. */
export function writeChartScript(id: string, chartJson: string): string {
  return `(window.rigReportCharts??={})[${JSON.stringify(id)}]=${chartJson};\n`;
}
