import { createHash } from "node:crypto";

/** What a page asks for, held ready for every page of a site. */
export interface PageAssets {
  /** The stylesheet with its typefaces as data. */
  css: string;
  js: string;
  chartJs: string;
}

export interface SingleFileRequest {
  html: string;
  assets: PageAssets;
  /** A file named relative to the page; null where there is none. */
  read: (path: string) => Buffer | null;
  /** The page's own address, which links to other files are made whole with; null: they become plain text. */
  address: string | null;
}

const types: Record<string, string> = {
  png: "image/png",
  jpg: "image/jpeg",
  jpeg: "image/jpeg",
  webp: "image/webp",
};

function toData(bytes: Buffer, path: string): string {
  const type = types[path.slice(path.lastIndexOf(".") + 1).toLowerCase()] ?? "application/octet-stream";
  return `data:${type};base64,${bytes.toString("base64")}`;
}

const hashSource = (text: string) => `'sha256-${createHash("sha256").update(text).digest("base64")}'`;

const policies = new WeakMap<PageAssets, string>();

/** The content policy of a file that asks for nothing; the same for all files made of the same assets. */
function makePolicy(assets: PageAssets): string {
  const before = policies.get(assets);
  if (before !== undefined) return before;
  const policy = [
    "default-src 'none'",
    `script-src ${hashSource(assets.js)} ${hashSource(assets.chartJs)}`,
    `style-src ${hashSource(assets.css)}`,
    "img-src data:",
    "font-src data:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
  policies.set(assets, policy);
  return policy;
}

const isElsewhere = (address: string) => /^(#|https?:|mailto:|data:)/i.test(address);

function decodeEntities(text: string): string {
  return text.replaceAll("&quot;", '"').replaceAll("&#39;", "'").replaceAll("&amp;", "&");
}

/** Pictures as data; a picture that is not at hand keeps its place and its words. */
function inlinePictures(html: string, read: SingleFileRequest["read"]): string {
  return html.replace(/<(image|img)\b[^>]*>/g, (tag) => {
    const own = tag.replace(/\s(?:srcset|sizes)="[^"]*"/g, "");
    return own.replace(/\s(href|src)="([^"]*)"/, (whole, name: string, value: string) => {
      if (isElsewhere(value)) return whole;
      const path = decodeEntities(value);
      const bytes = read(path);
      return bytes === null ? ` data-missing="${value}"` : ` ${name}="${toData(bytes, path)}"`;
    });
  });
}

/** Numbers of live charts move from their files into the page. */
function collectCharts(html: string, read: SingleFileRequest["read"]): { html: string; data: string } {
  let data = "";
  const changed = html.replace(
    /\sdata-chart="([^"]*)" data-chart-file="([^"]*)"/g,
    (_, id: string, file: string) => {
      const script = read(decodeEntities(file))?.toString("utf8") ?? "";
      const json = script.slice(script.indexOf("=", script.indexOf("]")) + 1).replace(/;\n$/, "");
      if (json === "") return "";
      data += `<script type="application/json" id="${id}-data">${json}</script>\n`;
      return ` data-chart="${id}"`;
    },
  );
  return { html: changed, data };
}

/** Links to files beside the page lead to the published ones, or are text where nothing was published. */
function settleLinks(html: string, address: string | null): string {
  const link = /<a\b([^>]*?)\shref="([^"]*)"([^>]*)>([\s\S]*?)<\/a>/g;
  return html.replace(link, (whole, before: string, href: string, after: string, text: string) => {
    if (isElsewhere(href)) return whole;
    if (address === null) return `<span>${text}</span>`;
    return `<a${before} href="${new URL(decodeEntities(href), address).href.replaceAll("&", "&amp;")}"${after}>${text}</a>`;
  });
}

/** The words that lead a page's reader to this file, told to a reader who has it. */
function tellOfItself(html: string): string {
  return html.replace(
    /<p class="files"><a href="[^"]*-report\.html">[\s\S]*?<\/p>/,
    '<p class="side">This file is the whole report: it needs no other file and no network.</p>',
  );
}

/** Where nothing was published, words that only lead to files and pages of the site have nowhere to lead. */
function dropWaysOut(html: string): string {
  return html
    .replace(/<nav aria-label="Site">[\s\S]*?<\/nav>\n?/, "")
    .replace(/<p class="files">[\s\S]*?<\/p>\n?/g, "")
    .replace(/<a href="[^"]*\.csv">Table \d+ as CSV<\/a>/g, "")
    .replace(/<a href="[^"]*">More in the methods<\/a>/g, "")
    .replace(/<p class="(?:all-terms|note)">(?:<a [^>]*>[^<]*<\/a>)?\s*<\/p>\n?/g, "");
}

/**
 * The page as one file that asks for nothing: stylesheet, typefaces, scripts, pictures and the charts' numbers within,
 * under a content policy that names each script by its digest. It can be mailed, and opens from disk.
 */
export function makeSingleFile({ html, assets, read, address }: SingleFileRequest): string {
  const charts = collectCharts(html, read);
  const policy = makePolicy(assets);
  const put = (text: string) => () => text;
  const told = tellOfItself(charts.html);
  return settleLinks(inlinePictures(address === null ? dropWaysOut(told) : told, read), address)
    .replace(
      /<meta http-equiv="Content-Security-Policy" content="[^"]*">/,
      put(`<meta http-equiv="Content-Security-Policy" content="${policy}">`),
    )
    .replace(/<link rel="alternate"[^>]*>\n?/g, "")
    .replace(/<style>[\s\S]*?<\/style>/, put(`<style>${assets.css}</style>`))
    .replace(
      /<script src="[^"]*assets\/report\.js" defer><\/script>/,
      put(`${charts.data}<script>${assets.chartJs}</script>\n<script>${assets.js}</script>`),
    );
}
