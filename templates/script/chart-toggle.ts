import type { Chart } from "chart.js";
import type { ChartSettings } from "../../lib/draw/figure.ts";
import { drawLiveChart } from "./live-chart.ts";
import type { UnitState } from "./unit-switch.ts";

/** The settings a figure names by id; null where there are none or they cannot be read: the picture then stands alone. */
function readSettings(root: Document, figure: Element): ChartSettings | null {
  const source = root.getElementById(figure.getAttribute("data-chart") ?? "");
  try {
    return source === null ? null : (JSON.parse(source.textContent ?? "") as ChartSettings);
  } catch {
    return null;
  }
}

/**
 * Gives each `figure[data-chart]` a button that opens and closes a live chart in place of its `.picture`. The chart is
 * made when it is first asked for; paper always gets the picture.
 */
export function addChartToggles(root: Document, units: UnitState): void {
  for (const figure of root.querySelectorAll<HTMLElement>("figure[data-chart]")) {
    const settings = readSettings(root, figure);
    const picture = figure.querySelector<HTMLElement>(".picture");
    if (settings !== null && picture !== null) addToggle(root, picture, settings, units);
  }
}

function addToggle(root: Document, picture: HTMLElement, settings: ChartSettings, units: UnitState): void {
  const holder = root.createElement("div");
  holder.className = "live-chart";
  const button = root.createElement("button");
  button.type = "button";
  button.className = "read-values";
  const title = picture.querySelector("title")?.textContent ?? "";
  let open = false;
  let chart: Chart | null = null;

  const redraw = () => {
    chart?.destroy();
    chart = null;
    holder.replaceChildren();
    if (!open) return;
    const canvas = root.createElement("canvas");
    canvas.setAttribute("role", "img");
    canvas.setAttribute(
      "aria-label",
      `${title}. Arrow keys read the values; the figure’s numbers stand below it.`,
    );
    canvas.tabIndex = 0;
    holder.append(canvas);
    chart = drawLiveChart(canvas, settings, units.current());
  };
  const show = () => {
    holder.hidden = !open;
    picture.hidden = open;
    button.setAttribute("aria-expanded", String(open));
    button.textContent = open ? "Back to the figure" : "Read values";
  };

  button.addEventListener("click", () => {
    open = !open;
    show();
    redraw();
  });
  units.onChange(() => {
    if (open) redraw();
  });
  // The chart holds the screen's colours: a change of ground needs a new one, and paper gets the picture.
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    if (open) redraw();
  });
  window.addEventListener("beforeprint", () => {
    picture.hidden = false;
    holder.hidden = true;
  });
  window.addEventListener("afterprint", show);
  show();
  picture.after(holder, button);
}
