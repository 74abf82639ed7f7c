import type { ChartSettings } from "../../lib/draw/figure.ts";
import type { drawLiveChart } from "./live-chart.ts";

/**
 * What the files that are loaded on demand leave for the page. They are classic scripts, as pages opened from disk may
 * load nothing else.
 */
declare global {
  interface Window {
    rigReportCharts?: Record<string, ChartSettings>;
    rigReportDraw?: typeof drawLiveChart;
  }
}

/** This script's own address: the one that draws charts lies beside it. Known only while the script runs first. */
const ownAddress = document.currentScript instanceof HTMLScriptElement ? document.currentScript.src : "";

const loading = new Map<string, Promise<void>>();

function loadScript(address: string): Promise<void> {
  const known = loading.get(address);
  if (known !== undefined) return known;
  const loaded = new Promise<void>((done, failed) => {
    const element = document.createElement("script");
    element.src = address;
    element.addEventListener("load", () => done());
    element.addEventListener("error", () => failed(new Error(`${address} cannot be loaded`)));
    document.head.append(element);
  });
  loading.set(address, loaded);
  return loaded;
}

/** The drawing of charts: there already, as on a page of one file, or fetched when first asked for. */
export async function loadDrawing(): Promise<typeof drawLiveChart> {
  if (window.rigReportDraw === undefined) await loadScript(ownAddress.replace(/[^/]*$/, "chart.js"));
  if (window.rigReportDraw === undefined) throw new Error("the drawing of charts is missing");
  return window.rigReportDraw;
}

/** Settings of a figure's chart: held by the page, or fetched from the file beside it. */
export async function loadSettings(figure: HTMLElement): Promise<ChartSettings> {
  const { chart: id = "", chartFile } = figure.dataset;
  const held = document.getElementById(`${id}-data`)?.textContent;
  if (held) return JSON.parse(held) as ChartSettings;
  if (window.rigReportCharts?.[id] === undefined && chartFile !== undefined) await loadScript(chartFile);
  const settings = window.rigReportCharts?.[id];
  if (settings === undefined) throw new Error(`no numbers for the chart of ${id}`);
  return settings;
}
