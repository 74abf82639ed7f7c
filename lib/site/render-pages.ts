import { relative } from "node:path";
import Eleventy from "@11ty/eleventy";
import type { SitePages } from "./configure-eleventy.ts";
import { configureEleventy } from "./configure-eleventy.ts";
import { templatesDir } from "./template-files.ts";

/** Writes the pages into a folder through Eleventy's own interface; rejects with Eleventy's error where a page fails. */
export async function renderPages(pages: SitePages, outDir: string): Promise<void> {
  const input = relative(process.cwd(), `${templatesDir}/pages`);
  const eleventy = new Eleventy(input, relative(process.cwd(), outDir), {
    quietMode: true,
    configPath: false,
    config: (config) => configureEleventy(config, pages),
  });
  eleventy.disableLogger();
  await eleventy.write();
}
