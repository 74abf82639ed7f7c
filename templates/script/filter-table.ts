/** What a row's cell is sorted into for a filter; null: the row has nothing there. */
type Classify = (text: string) => string | null;

const keep: Classify = (text) => (text === "" || text === "none" ? null : text);

/** Choices with an order of their own, the gravest and the fastest first; all others go by the alphabet. */
const order = [
  "fail",
  "watch",
  "pass",
  "faster than f/4",
  "f/4 to f/5.5",
  "f/5.5 to f/7.5",
  "slower than f/7.5",
];

/** Focal ratios in the steps in which they are spoken of. */
const classifyRatio: Classify = (text) => {
  const ratio = Number(/f\/([\d.]+)/.exec(text)?.[1] ?? Number.NaN);
  if (!(ratio > 0)) return null;
  if (ratio < 4) return "faster than f/4";
  if (ratio < 5.5) return "f/4 to f/5.5";
  if (ratio < 7.5) return "f/5.5 to f/7.5";
  return "slower than f/7.5";
};

/** The gravest level among the findings: "2 fail, 1 watch" is fail. */
const classifyFindings: Classify = (text) =>
  ["fail", "watch", "pass"].find((level) => new RegExp(`\\b${level}\\b`, "i").test(text)) ?? null;

const classifyYear: Classify = (text) => /\b(\d{4})\b/.exec(text)?.[1] ?? null;

const classifiers: Record<string, Classify> = {
  telescope: keep,
  camera: keep,
  ratio: classifyRatio,
  findings: classifyFindings,
  year: classifyYear,
};

/**
 * Fills the form's `select[data-filter]` from the table it names (`data-find`) and hides the rows that a choice leaves
 * out. `data-column` is the heading of the column that a filter reads; a filter with one choice alone does not show.
 */
export function addTableFilters(form: HTMLElement): void {
  const table = document.querySelector<HTMLTableElement>(`#${form.dataset.find} table`);
  const counted = form.querySelector<HTMLElement>("[data-counted]");
  if (table === null) return;
  const headings = [...table.querySelectorAll("thead th")].map(
    (heading) => heading.textContent?.trim() ?? "",
  );
  const rows = [...table.querySelectorAll<HTMLTableRowElement>("tbody tr")];
  const filters = [...form.querySelectorAll<HTMLSelectElement>("select[data-filter]")].map((select) => {
    const column = headings.findIndex((heading) => heading.startsWith(select.dataset.column ?? ""));
    const classify = classifiers[select.dataset.filter ?? ""] ?? keep;
    const classes = rows.map((row) =>
      column < 0 ? null : classify(row.cells[column]?.textContent?.trim() ?? ""),
    );
    const choices = [...new Set(classes)]
      .filter((choice) => choice !== null)
      .sort()
      .sort((a, b) => order.indexOf(a) - order.indexOf(b));
    select.append(...choices.map((choice) => new Option(choice, choice)));
    const label = select.closest("label");
    if (label !== null) label.hidden = choices.length < 2;
    return { select, classes };
  });
  const apply = () => {
    let shown = 0;
    rows.forEach((row, k) => {
      const fits = filters.every(({ select, classes }) => select.value === "" || classes[k] === select.value);
      row.hidden = !fits;
      if (fits) shown++;
    });
    if (counted !== null)
      counted.textContent = shown === rows.length ? "" : `${shown} of ${rows.length} trains shown`;
  };
  for (const { select } of filters) select.addEventListener("change", apply);
  // A browser may bring back choices of an earlier visit.
  apply();
}
