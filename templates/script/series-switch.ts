import type { Chart } from "chart.js";
import type { ChartSeries } from "../../lib/draw/figure.ts";

/**
 * A box for each series below a live chart, which switches it on and off; `toggle` does the same for a click on the chart's
 * own legend. What was switched off stays off when the chart is drawn anew, in another unit for instance.
 */
export function addSeriesSwitch(
  holder: HTMLElement,
  chart: Chart,
  series: readonly ChartSeries[],
): { toggle: (index: number) => void } {
  const root = holder.ownerDocument;
  const stored = holder.dataset["off"];
  const off = new Set<string>(
    stored === undefined
      ? series.filter((one) => one.off === true).map(({ label }) => label)
      : (JSON.parse(stored) as string[]),
  );
  const boxes: HTMLInputElement[] = [];
  const set = (index: number, shown: boolean) => {
    const { label } = series[index];
    if (shown) off.delete(label);
    else off.add(label);
    holder.dataset["off"] = JSON.stringify([...off]);
    chart.setDatasetVisibility(index, shown);
    chart.update("none");
    if (boxes[index] !== undefined) boxes[index].checked = shown;
  };
  if (series.length > 1) {
    const group = root.createElement("fieldset");
    group.className = "series";
    const legend = root.createElement("legend");
    legend.textContent = "Shown";
    group.append(legend);
    series.forEach(({ label }, index) => {
      const box = root.createElement("input");
      box.type = "checkbox";
      box.checked = true;
      box.addEventListener("change", () => set(index, box.checked));
      boxes.push(box);
      const line = root.createElement("label");
      line.append(box, ` ${label}`);
      group.append(line);
    });
    holder.append(group);
  }
  series.forEach(({ label }, index) => {
    if (off.has(label)) set(index, false);
  });
  return { toggle: (index) => set(index, !chart.isDatasetVisible(index)) };
}
