import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve, sep } from "node:path";
import { bundleReportScript } from "../../../templates/script/bundle.ts";
import type { SiteRecord } from "../../records/types.ts";
import { listFontFiles, readStylesheet } from "../template-files.ts";
import { joinTrainAddress } from "./page-address.ts";
import { nameSingleFile } from "./page-publication.ts";
import { makeSingleFile, type PageAssets } from "./single-file.ts";

let known: Promise<PageAssets> | null = null;

async function readAssets(): Promise<PageAssets> {
  let css = readStylesheet();
  for (const { name, from } of listFontFiles()) {
    if (!name.endsWith(".woff2")) continue;
    const data = `data:font/woff2;base64,${readFileSync(from).toString("base64")}`;
    css = css.replaceAll(`url("${name}")`, `url("${data}")`);
  }
  return { css, ...(await bundleReportScript()) };
}

/** Beside each train's page the whole report as one file. `into`: the site's folder. */
export async function writeSingleFiles(
  ids: readonly string[],
  site: SiteRecord,
  into: string,
  quick = false,
): Promise<void> {
  if (quick) {
    const words = "The live view leaves this file out; npm run build makes it.\n";
    for (const id of ids) writeFileSync(join(into, "trains", id, nameSingleFile(id)), words);
    return;
  }
  known ??= readAssets();
  const assets = await known;
  for (const id of ids) {
    const dir = join(into, "trains", id);
    const root = resolve(dir);
    const read = (path: string) => {
      const file = resolve(root, decodeURIComponent(path));
      return file.startsWith(root + sep) && existsSync(file) ? readFileSync(file) : null;
    };
    const html = readFileSync(join(dir, "index.html"), "utf8");
    const whole = makeSingleFile({ html, assets, read, address: joinTrainAddress(site, id) });
    writeFileSync(join(dir, nameSingleFile(id)), whole);
  }
}
