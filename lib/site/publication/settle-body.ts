/** What the body of a page is made self-contained with. */
export interface BodyRequest {
  /** A file named relative to the page; null where there is none. */
  read: (path: string) => Buffer | null;
  /** The page's own address, which links to other files are made whole with; null: they become plain text. */
  address: string | null;
  /** Put in place of the element that loads the page's script, behind the charts' numbers. */
  scripts: string;
}

const types: Record<string, string> = {
  png: "image/png",
  jpg: "image/jpeg",
  jpeg: "image/jpeg",
  webp: "image/webp",
};

/**
 * All that a body may have to change, each from its first sign to its last; longer ones first where they begin alike. One
 * pattern, as a page of half a megabyte is copied once for each that is looked for by itself.
 */
const places = new RegExp(
  [
    String.raw`<figure\b[^>]*>`,
    String.raw`<(?:image|img)\b[^>]*>`,
    String.raw`<nav aria-label="Site">[\s\S]*?</nav>\n?`,
    String.raw`<p class="files">[\s\S]*?</p>\n?`,
    String.raw`<p class="(?:all-terms|note)">(?:<a [^>]*>[^<]*</a>)?\s*</p>\n?`,
    String.raw`<a\b[^>]*?\shref="[^"]*"[^>]*>[\s\S]*?</a>`,
    String.raw`<script src="[^"]*assets/report\.js" defer></script>`,
  ].join("|"),
  "g",
);

/** The words that lead a page's reader to the single file, and what stands there for a reader who has it. */
const leadsHere = /^<p class="files"><a href="[^"]*-report\.html">/;
const wordsOfItself =
  '<p class="side">This file is the whole report: it needs no other file and no network.</p>';

const isElsewhere = (address: string) => /^(#|https?:|mailto:|data:)/i.test(address);

function decodeEntities(text: string): string {
  return text.replaceAll("&quot;", '"').replaceAll("&#39;", "'").replaceAll("&amp;", "&");
}

function toData(bytes: Buffer, path: string): string {
  const type = types[path.slice(path.lastIndexOf(".") + 1).toLowerCase()] ?? "application/octet-stream";
  return `data:${type};base64,${bytes.toString("base64")}`;
}

/** A picture as data; one that is not at hand keeps its place and its words. */
function settlePicture(tag: string, read: BodyRequest["read"]): string {
  const own = tag.replace(/\s(?:srcset|sizes)="[^"]*"/g, "");
  return own.replace(/\s(href|src)="([^"]*)"/, (whole, name: string, value: string) => {
    if (isElsewhere(value)) return whole;
    const path = decodeEntities(value);
    const bytes = read(path);
    return bytes === null ? ` data-missing="${value}"` : ` ${name}="${toData(bytes, path)}"`;
  });
}

/** The numbers of a live chart move from their file into `data`. */
function settleChart(tag: string, read: BodyRequest["read"], data: string[]): string {
  return tag.replace(/\sdata-chart="([^"]*)" data-chart-file="([^"]*)"/, (_, id: string, file: string) => {
    const script = read(decodeEntities(file))?.toString("utf8") ?? "";
    const json = script.slice(script.indexOf("=", script.indexOf("]")) + 1).replace(/;\n$/, "");
    if (json === "") return "";
    data.push(`<script type="application/json" id="${id}-data">${json}</script>\n`);
    return ` data-chart="${id}"`;
  });
}

/** A link to a file beside the page leads to the published one, or is text where nothing was published. */
function settleLink(link: string, address: string | null): string {
  const [, before, href, after, text] =
    /^<a\b([^>]*?)\shref="([^"]*)"([^>]*)>([\s\S]*)<\/a>$/.exec(link) ?? [];
  if (href === undefined || isElsewhere(href)) return link;
  if (address === null) {
    const onlyLeads = /\.csv$/.test(href) ? /^Table \d+ as CSV$/ : /^More in the methods$/;
    return onlyLeads.test(text) ? "" : `<span>${text}</span>`;
  }
  const whole = new URL(decodeEntities(href), address).href.replaceAll("&", "&amp;");
  return `<a${before} href="${whole}"${after}>${text}</a>`;
}

/**
 * A page's body with pictures and charts' numbers within and links that lead to what was published. Where nothing was
 * (`address` null), words that only lead to files and pages of the site have nowhere to lead and are left out.
 */
export function settleBody(body: string, { read, address, scripts }: BodyRequest): string {
  const data: string[] = [];
  const settleInner = (whole: string): string => {
    const end = whole.indexOf(">") + 1;
    return whole.slice(0, end) + whole.slice(end).replace(places, settle);
  };
  const settle = (found: string): string => {
    if (found.startsWith("<figure")) return settleChart(found, read, data);
    if (found.startsWith("<im")) return settlePicture(found, read);
    if (found.startsWith("<script")) return data.join("") + scripts;
    if (found.startsWith("<a")) return settleLink(settleInner(found), address);
    if (leadsHere.test(found)) return `${wordsOfItself}\n`;
    return address === null ? "" : settleInner(found);
  };
  return body.replace(places, settle);
}
