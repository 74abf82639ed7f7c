import type { UserConfig } from "@11ty/eleventy";
import syntaxHighlight from "@11ty/eleventy-plugin-syntaxhighlight";
import type { ComparisonPage } from "./comparison-page.ts";
import { cutText } from "./escape-text.ts";
import { explainTerms, glossary, writeTerm } from "./glossary/explain-terms.ts";
import type { IndexPage } from "./index-page.ts";
import { makeStyleInliner } from "./inline-style.ts";
import { keepDates } from "./keep-dates.ts";
import { renderMarkdown } from "./render-markdown.ts";
import { stretchWords } from "./stretch-crop.ts";
import { formatTableRows } from "./table-rows.ts";
import { hashCode } from "./template-files.ts";
import type { TrainPage } from "./train-page.ts";
import { setEquation } from "./worked-number.ts";

/**
 * Nothing is fetched from another host, no script stands in the page itself and no style but the site's own, which the
 * policy then names by its digest. Pictures may be data of the page,
 * as a drawing that was saved alone carries its cut-outs so. The page fetches nothing by script, but search engines read
 * the site's own robots.txt under this policy.
 */
const contentPolicy =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'";

/** What the templates print; the pages are looked up by id so that no build copies or merges them. */
export interface SitePages {
  siteTitle: string;
  /** Null where only trains' pages are to be written. */
  index: IndexPage | null;
  trains: ReadonlyMap<string, TrainPage>;
  comparisons?: ReadonlyMap<string, ComparisonPage>;
  /** The stylesheet stays a file of its own, so that the live view shows a change of it without making pages anew. */
  linksStyle?: boolean;
}

/** The engine that compiled the templates of an earlier run on this thread, and the digest of those templates. */
let compiled: { templates: string; environment: { extensionsList: unknown[] } } | null = null;

/** Templates are compiled once a thread, not once a run: a site of many trains is made in many runs. */
function keepTemplates(config: UserConfig): void {
  const templates = hashCode(["templates/pages", "templates/parts"]);
  if (compiled?.templates === templates) {
    // Every run puts its own in; those of earlier runs would hold on to all their pages.
    compiled.environment.extensionsList.length = 0;
    config.setLibrary("njk", compiled.environment);
  } else
    config.on("eleventy.engine.njk", ({ environment }) => {
      compiled = { templates, environment };
    });
}

/** Wires data, filters and highlighting into Eleventy; the same for the commands and for Eleventy's own. */
export function configureEleventy(config: UserConfig, pages: SitePages): void {
  // Eleventy's notes on its own speed say nothing to who builds a report.
  config.benchmarkManager.get("Configuration").setMinimumThresholdMs(Number.MAX_SAFE_INTEGER);
  config.setUseGitIgnore(false);
  keepTemplates(config);
  config.setIncludesDirectory("../parts");
  config.setTemplateFormats(["njk"]);
  config.setNunjucksEnvironmentOptions({ autoescape: true, throwOnUndefined: true, trimBlocks: true });
  config.addPlugin(syntaxHighlight, { preAttributes: { tabindex: 0 } });
  config.addGlobalData("contentPolicy", contentPolicy);
  config.addGlobalData("siteTitle", pages.siteTitle);
  config.addGlobalData("shortTitle", cutText(pages.siteTitle, 50));
  config.addGlobalData("index", pages.index);
  config.addGlobalData("stretchWords", stretchWords);
  config.addGlobalData("trainIds", [...pages.trains.keys()]);
  config.addGlobalData("comparisonIds", [...(pages.comparisons?.keys() ?? [])]);
  if (pages.index === null) {
    config.ignores.add("**/pages/index.njk");
    config.ignores.add("**/pages/methods.njk");
    config.ignores.add("**/pages/glossary.njk");
  }
  config.addFilter("comparisonPage", (id: string) => pages.comparisons?.get(id));
  config.addFilter("trainPage", (id: string) => pages.trains.get(id));
  config.addFilter("markdown", renderMarkdown);
  config.addFilter("equation", setEquation);
  config.addFilter("tableRows", formatTableRows);
  config.addGlobalData("glossary", glossary);
  config.addFilter("term", writeTerm);
  const inlineStyle = pages.linksStyle ? (html: string) => html : makeStyleInliner();
  config.addTransform("terms and style", function (this: { page: { url?: string | false } }, html: string) {
    const url = this.page.url === false || this.page.url === undefined ? "/" : this.page.url;
    const root = "../".repeat(url.split("/").length - 2);
    // The glossary explains its words itself.
    const explained = url.startsWith("/glossary/") ? html : explainTerms(html, root);
    return inlineStyle(keepDates(explained), root);
  });
}
