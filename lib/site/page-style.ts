import { transformSync } from "esbuild";
import { readStylesheet } from "./template-files.ts";

let minified: string | null = null;

/**
 * The stylesheet as pages carry it: without the comments and spaces of its sources. `nameFont` says what stands for a typeface's
 * file, by its name in the site's `assets`.
 */
export function makePageStyle(nameFont: (name: string) => string): string {
  minified ??= transformSync(readStylesheet(), {
    loader: "css",
    minify: true,
    logLevel: "error",
  }).code.trim();
  return minified.replace(/url\("?(fonts\/[\w.-]+)"?\)/g, (_, name: string) => `url("${nameFont(name)}")`);
}
