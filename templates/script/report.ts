/**
 * The script a page carries. The page is whole without it; it adds a switch of the unit in which widths are read and,
 * for a figure with chart settings beside it, a live chart to read values off, and a look at cut-outs enlarged.
 */
import { addChartToggles } from "./chart-toggle.ts";
import { addCutOuts } from "./cut-outs.ts";
import { addUnitSwitch } from "./unit-switch.ts";

function start(): void {
  const units = addUnitSwitch(document);
  addChartToggles(document, units);
  addCutOuts(document);
}

if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
else start();
