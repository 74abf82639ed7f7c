import { createHash } from "node:crypto";
import { makePageStyle } from "./page-style.ts";

/**
 * Puts the stylesheet into pages in place of the link to it, under a content policy that names it by its digest: a page
 * that waits for a second file is drawn some 0.3 s later on a slow connection. `root`: the way from the page to the
 * site's folder. What is made for one way is used for all pages that share it.
 */
export function makeStyleInliner(): (html: string, root: string) => string {
  const known = new Map<string, { element: string; source: string }>();
  const prepare = (root: string) => {
    const css = makePageStyle((name) => `${root}assets/${name}`);
    const digest = createHash("sha256").update(css).digest("base64");
    const made = { element: `<style>${css}</style>`, source: `style-src &#39;sha256-${digest}&#39;` };
    known.set(root, made);
    return made;
  };
  return (html, root) => {
    const { element, source } = known.get(root) ?? prepare(root);
    // The head alone is looked through: a page is a hundred times as long.
    const split = html.indexOf("</head>");
    const head = html
      .slice(0, split)
      .replace("style-src &#39;self&#39;", () => source)
      .replace(/<link rel="stylesheet" href="[^"]*assets\/report\.css">/, () => element);
    return head + html.slice(split);
  };
}
