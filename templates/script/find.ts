/**
 * The script of the index: a search over all reports and filters of the table of trains. Without it the table stands
 * whole, and the form does not show.
 */
import { addTableFilters } from "./filter-table.ts";
import { type SearchEntry, searchReports } from "./search-words.ts";
import { addTableSorting } from "./sort-table.ts";

declare global {
  interface Window {
    rigReportSearch?: SearchEntry[];
  }
}

const mostHits = 20;
const ownAddress = document.currentScript instanceof HTMLScriptElement ? document.currentScript.src : "";

let loading: Promise<void> | null = null;

/** The words of all reports, fetched when a reader first turns to the search. */
function loadWords(): Promise<void> {
  loading ??= new Promise((done, failed) => {
    const element = document.createElement("script");
    element.src = ownAddress.replace(/[^/]*$/, "search-data.js");
    element.addEventListener("load", () => done());
    element.addEventListener("error", failed);
    document.head.append(element);
  });
  return loading;
}

function addSearch(form: HTMLElement): void {
  const input = form.querySelector<HTMLInputElement>("input[type=search]");
  const list = form.querySelector<HTMLElement>("[data-hits]");
  const said = form.querySelector<HTMLElement>("[data-said]");
  if (input === null || list === null || said === null) return;
  const show = () => {
    const asked = input.value;
    const hits = searchReports(window.rigReportSearch ?? [], asked);
    list.replaceChildren(
      ...hits.slice(0, mostHits).map(({ name, href, excerpt }) => {
        const item = document.createElement("li");
        const link = document.createElement("a");
        link.href = href;
        link.textContent = name;
        const text = document.createElement("p");
        text.textContent = excerpt;
        item.append(link, text);
        return item;
      }),
    );
    if (asked.trim() === "") said.textContent = "";
    else if (hits.length === 0) said.textContent = "No report holds all these words.";
    else said.textContent = hits.length === 1 ? "1 report" : `${hits.length} reports`;
  };
  const search = () =>
    loadWords().then(show, () => {
      said.textContent = "The words of the reports could not be loaded.";
    });
  input.addEventListener("focus", () => void loadWords().catch(() => undefined), { once: true });
  input.addEventListener("input", search);
}

function start(): void {
  for (const form of document.querySelectorAll<HTMLElement>("[data-find]")) {
    addSearch(form);
    addTableFilters(form);
    form.classList.add("alive");
  }
  addTableSorting(document);
}

if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
else start();
