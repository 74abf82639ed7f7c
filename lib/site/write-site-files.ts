import { copyFile, mkdir, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";

import { bundleReportScript } from "../../templates/script/bundle.ts";
import { formatCsv } from "../draw/format-csv.ts";
import type { IndexPage } from "./index-page.ts";
import { listFontFiles, readStylesheet } from "./template-files.ts";

/** Script, typefaces, and the list of trains for programs; the stylesheet too where pages link to it. */
export async function writeSiteFiles(
  trains: readonly { id: string; name: string }[],
  comparisons: readonly { id: string; name: string }[],
  index: IndexPage,
  outDir: string,
  linksStyle = false,
): Promise<void> {
  const assets = join(outDir, "assets");
  await mkdir(join(assets, "fonts"), { recursive: true });
  if (linksStyle) await writeFile(join(assets, "report.css"), readStylesheet());
  const { js, chartJs, findJs } = await bundleReportScript();
  await writeFile(join(assets, "report.js"), js);
  await writeFile(join(assets, "chart.js"), chartJs);
  await writeFile(join(assets, "find.js"), findJs);
  for (const { name, from } of listFontFiles()) {
    await mkdir(dirname(join(assets, name)), { recursive: true });
    await copyFile(from, join(assets, name));
  }
  const list = {
    trains: trains.map(({ id, name }) => ({
      id,
      name,
      page: `trains/${id}/index.html`,
      results: `trains/${id}/results.json`,
    })),
    comparisons: comparisons.map(({ id, name }) => ({
      id,
      name,
      page: `comparisons/${id}/index.html`,
      results: `comparisons/${id}/results.json`,
    })),
  };
  await writeFile(join(outDir, "index.json"), `${JSON.stringify(list, null, 2)}\n`);
  await writeFile(join(outDir, "trains.csv"), formatCsv(index.table.csv));
}
