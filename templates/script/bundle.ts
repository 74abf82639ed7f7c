import { resolve } from "node:path";
import { build } from "esbuild";

/** The script that a page carries, and the one that it loads when a live chart is first asked for. */
export interface ReportScripts {
  js: string;
  chartJs: string;
  /** That of the index. */
  findJs: string;
}

let bundled: Promise<ReportScripts> | null = null;

/**
 * The pages' scripts, each a classic script, as module scripts do not load from disk. The same sources give the same
 * bytes; they are put together once a run.
 */
export function bundleReportScript(): Promise<ReportScripts> {
  bundled ??= bundleAnew();
  return bundled;
}

async function bundleAnew(): Promise<ReportScripts> {
  const [js, chartJs, findJs] = await Promise.all(["report.ts", "chart.ts", "find.ts"].map(bundleEntry));
  return { js, chartJs, findJs };
}

async function bundleEntry(name: string): Promise<string> {
  const result = await build({
    entryPoints: [resolve(import.meta.dirname, name)],
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
  return result.outputFiles[0].text.replaceAll("</script", "<\\/script");
}
