import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve, sep } from "node:path";
import { bundleReportScript } from "../../../templates/script/bundle.ts";
import type { SiteRecord } from "../../records/types.ts";
import { makePageStyle } from "../page-style.ts";
import { listFontFiles } from "../template-files.ts";
import { joinReportAddress, type ReportKind } from "./page-address.ts";
import { nameSingleFile } from "./page-publication.ts";
import { makeSingleFile, type PageAssets } from "./single-file.ts";

let known: Promise<PageAssets> | null = null;

async function readAssets(): Promise<PageAssets> {
  const fonts = new Map(listFontFiles().map(({ name, from }) => [name, from]));
  const css = makePageStyle((name) => {
    const from = fonts.get(name);
    if (from === undefined) throw new Error(`no typeface ${name}`);
    return `data:font/woff2;base64,${readFileSync(from).toString("base64")}`;
  });
  return { css, ...(await bundleReportScript()) };
}

export interface WrittenReport {
  kind: ReportKind;
  id: string;
}

/**
 * Beside each report's page the whole of it as one file. `into`: the site's folder; `standing`: where pictures of folders lie
 * that were not made anew.
 */
export async function writeSingleFiles(
  reports: readonly WrittenReport[],
  site: SiteRecord,
  into: string,
  { quick = false, standing = into }: { quick?: boolean; standing?: string } = {},
): Promise<void> {
  const nameFile = ({ kind, id }: WrittenReport) => join(into, kind, id, nameSingleFile(id));
  if (quick) {
    const words = "The live view leaves this file out; npm run build makes it.\n";
    for (const report of reports) writeFileSync(nameFile(report), words);
    return;
  }
  known ??= readAssets();
  const assets = await known;
  for (const report of reports) {
    const { kind, id } = report;
    const read = (path: string) =>
      readBeside(into, join(kind, id), path) ?? readBeside(standing, join(kind, id), path);
    const html = readFileSync(join(into, kind, id, "index.html"), "utf8");
    const whole = makeSingleFile({ html, assets, read, address: joinReportAddress(site, kind, id) });
    writeFileSync(nameFile(report), whole);
  }
}

/** A file of the site by its address from a page's folder; null where there is none, or it would lie outside. */
function readBeside(site: string, folder: string, path: string): Buffer | null {
  const root = resolve(site);
  const file = resolve(root, folder, decodeURIComponent(path));
  return file.startsWith(root + sep) && existsSync(file) ? readFileSync(file) : null;
}
