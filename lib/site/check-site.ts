import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, resolve, sep } from "node:path";
import type { Fault } from "../fault.ts";

/** What a page offers and what it asks for. */
interface PageFacts {
  ids: Set<string>;
  doubled: string[];
  targets: string[];
  references: string[];
}

const attribute = /\s(id|href|src|xlink:href|aria-labelledby|aria-describedby|for)="([^"]*)"/g;

function decode(text: string): string {
  return text
    .replaceAll("&quot;", '"')
    .replaceAll("&#39;", "'")
    .replaceAll("&lt;", "<")
    .replaceAll("&gt;", ">")
    .replaceAll("&amp;", "&");
}

/** Attributes are read from tags alone; text of scripts and of the page cannot be mistaken for them. */
export function readPageFacts(html: string): PageFacts {
  const facts: PageFacts = { ids: new Set(), doubled: [], targets: [], references: [] };
  const tags = html.replace(/(<script\b[^>]*>)[\s\S]*?<\/script>/g, "$1").match(/<[a-zA-Z][^>]*>/g) ?? [];
  for (const tag of tags) {
    // Most elements of a drawing have none of the attributes looked for.
    if (!/(?:id|href|src|for|by)="/.test(tag)) continue;
    for (const [, name, raw] of tag.matchAll(attribute)) {
      const value = decode(raw);
      if (name === "id") {
        if (facts.ids.has(value)) facts.doubled.push(value);
        facts.ids.add(value);
      } else if (name === "href" || name === "src" || name === "xlink:href") facts.targets.push(value);
      else facts.references.push(...value.split(/\s+/).filter((id) => id !== ""));
    }
  }
  return facts;
}

const elsewhere = /^(https?:|mailto:)/i;

/** The file a relative address leads to; null where it would leave the site. */
function findTarget(root: string, page: string, address: string): string | null {
  const path = resolve(dirname(page), decodeURIComponent(address.replace(/[?#].*$/, "")));
  return path === root || path.startsWith(root + sep) ? path : null;
}

/** Folders of another site that will stand beside the pages checked, relative with forward slashes. */
export interface KeptFolders {
  dir: string;
  folders: ReadonlySet<string>;
}

/** Where a file of the site lies now: among those written, or in a folder that is kept from the standing site. */
function locateFile(root: string, target: string, kept: KeptFolders): string {
  const path = relative(root, target).replaceAll("\\", "/");
  const folder = path.split("/").slice(0, 2).join("/");
  return kept.folders.has(folder) ? join(resolve(kept.dir), path) : target;
}

function checkPage(
  root: string,
  page: string,
  facts: PageFacts,
  kept: KeptFolders,
  readIds: (page: string) => ReadonlySet<string>,
): Fault[] {
  const file = relative(root, page).replaceAll("\\", "/");
  const faults: Fault[] = facts.doubled.map((id) => ({
    code: "site/same-id",
    file,
    found: `two elements with the id "${id}"`,
    allowed: "each id once on a page",
    fix: "give one of the two another name in its template",
  }));
  const dead = (found: string): Fault => ({
    code: "site/dead-link",
    file,
    found,
    allowed: "an address of a file on this site, or one that starts with http: or https:",
    fix: "correct the link in the prose (review.md or notes) or, where it is not there, in the template",
  });
  for (const id of facts.references)
    if (!facts.ids.has(id)) faults.push(dead(`a reference to the missing id "${id}"`));
  for (const address of new Set(facts.targets)) {
    if (elsewhere.test(address) || address.startsWith("data:image/")) continue;
    const [path, anchor] = address.split("#");
    let target: string | null;
    try {
      const place = path === "" ? page : findTarget(root, page, path);
      target = place === null ? null : locateFile(root, place, kept);
    } catch {
      target = null;
    }
    if (target === null || path.startsWith("/") || !existsSync(target)) {
      faults.push(dead(`a link to "${address}", where there is nothing`));
    } else if (anchor !== undefined && anchor !== "" && target.endsWith(".html")) {
      const ids = target === page ? facts.ids : readIds(target);
      if (!ids.has(anchor)) faults.push(dead(`a link to "${address}", where no element has this id`));
    }
  }
  return faults;
}

/** Folders whose pages every build writes; "" is the site's own. */
export const rootFolders = ["", "methods", "glossary"];

/** Other pages whose ids are remembered: those of the methods and the glossary, which all pages lead to, and a few more. */
const mostRemembered = 16;

/** Ids of pages that others lead to. A page's ids are parts of its text, which they would keep in memory: copies are kept. */
function rememberIds(): (page: string) => ReadonlySet<string> {
  const known = new Map<string, ReadonlySet<string>>();
  return (page) => {
    const ids =
      known.get(page) ??
      new Set(JSON.parse(JSON.stringify([...readPageFacts(readFileSync(page, "utf8")).ids])) as string[]);
    known.delete(page);
    known.set(page, ids);
    const [oldest] = known.keys();
    if (known.size > mostRemembered && oldest !== undefined) known.delete(oldest);
    return ids;
  };
}

/**
 * Every link, picture and reference of built pages must lead somewhere within the site, and no id stand twice.
 * `folders`: those whose pages are to be checked, relative to the site; pages taken over unchanged were checked when they
 * were made. Gives back every fault, in the order of the folders; none means the pages are whole.
 */
export function checkSite(
  root: string,
  folders: readonly string[],
  kept: KeptFolders = { dir: root, folders: new Set() },
): Fault[] {
  const base = resolve(root);
  const readIds = rememberIds();
  return folders.flatMap((folder) => {
    const dir = join(base, folder);
    // The report as one file is made from a page that is checked here.
    const pages = readdirSync(dir).filter((name) => name.endsWith(".html") && !name.endsWith("-report.html"));
    return pages.flatMap((name) => {
      const page = join(dir, name);
      return checkPage(base, page, readPageFacts(readFileSync(page, "utf8")), kept, readIds);
    });
  });
}
