import type { Chart } from "chart.js";
import { loadDrawing, loadSettings } from "./chart-files.ts";
import type { UnitState } from "./unit-switch.ts";

/**
 * Gives each `figure[data-chart]` a button that opens and closes a live chart in place of its `.picture`. The chart's
 * numbers and the code that draws it are loaded when it is first asked for; paper always gets the picture.
 */
export function addChartToggles(root: Document, units: UnitState): void {
  for (const figure of root.querySelectorAll<HTMLElement>("figure[data-chart]")) {
    const picture = figure.querySelector<HTMLElement>(".picture");
    if (picture !== null) addToggle(root, figure, picture, units);
  }
}

function addToggle(root: Document, figure: HTMLElement, picture: HTMLElement, units: UnitState): void {
  const holder = root.createElement("div");
  holder.className = "live-chart";
  const button = root.createElement("button");
  button.type = "button";
  button.className = "read-values";
  const title = picture.querySelector("title")?.textContent ?? "";
  let open = false;
  let chart: Chart | null = null;

  const redraw = async () => {
    chart?.destroy();
    chart = null;
    holder.replaceChildren();
    if (!open) return;
    const [draw, settings] = await Promise.all([loadDrawing(), loadSettings(figure)]);
    // The reader may have closed it while it was loaded.
    if (!open || holder.childElementCount > 0) return;
    const canvas = root.createElement("canvas");
    canvas.setAttribute("role", "img");
    canvas.setAttribute(
      "aria-label",
      `${title}. Arrow keys read the values, Escape goes back; the figure’s numbers stand below it.`,
    );
    canvas.tabIndex = 0;
    holder.append(canvas);
    chart = draw(canvas, settings, units.current());
  };
  const show = () => {
    holder.hidden = !open;
    picture.hidden = open;
    button.setAttribute("aria-expanded", String(open));
    button.textContent = open ? "Back to the figure" : "Read values";
  };
  const redrawOrClose = async () => {
    await redraw().catch(() => {
      open = false;
      show();
      button.disabled = true;
      button.textContent = "The values could not be loaded; they stand in the table below";
    });
  };

  button.addEventListener("click", async ({ detail }) => {
    open = !open;
    show();
    await redrawOrClose();
    // A click without a pointer was a key: its arrows are to read the values at once.
    if (open && detail === 0) holder.querySelector("canvas")?.focus();
  });
  holder.addEventListener("keydown", ({ key }) => {
    if (key !== "Escape") return;
    button.focus();
    button.click();
  });
  units.onChange(() => {
    if (open) void redrawOrClose();
  });
  // The chart holds the screen's colours: a change of ground needs a new one, and paper gets the picture.
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    if (open) void redrawOrClose();
  });
  window.addEventListener("beforeprint", () => {
    picture.hidden = false;
    holder.hidden = true;
  });
  window.addEventListener("afterprint", show);
  show();
  picture.after(holder, button);
}
