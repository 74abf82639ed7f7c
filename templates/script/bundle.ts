import { resolve } from "node:path";
import { build } from "esbuild";

/**
 * The page's script as one classic script, as module scripts do not load from disk. The same sources give the same
 * bytes.
 */
export async function bundleReportScript(): Promise<{ js: string }> {
  const result = await build({
    entryPoints: [resolve(import.meta.dirname, "report.ts")],
    bundle: true,
    format: "iife",
    platform: "browser",
    target: "es2020",
    minify: true,
    write: false,
    legalComments: "inline",
    charset: "ascii",
    logLevel: "silent",
    absWorkingDir: resolve(import.meta.dirname, "../.."),
  });
  // A script placed inline must not hold the end of its own element.
  return { js: result.outputFiles[0].text.replaceAll("</script", "<\\/script") };
}
