import type { ChartSettings } from "./figure.ts";

/**
 * Chart settings as text for a script element of type application/json: no character of it can end the element or open
 * a comment, whatever the records hold.
 */
export function formatChartJson(settings: ChartSettings): string {
  return JSON.stringify(settings)
    .replaceAll("<", "\\u003c")
    .replaceAll(">", "\\u003e")
    .replaceAll("&", "\\u0026")
    .replaceAll("\u2028", "\\u2028")
    .replaceAll("\u2029", "\\u2029");
}
