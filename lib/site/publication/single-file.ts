import { createHash } from "node:crypto";
import { settleBody } from "./settle-body.ts";

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

/**
 * The page as one file that asks for nothing: stylesheet, typefaces, scripts, pictures and the charts' numbers within,
 * under a content policy that names each script by its digest. It can be mailed, and opens from disk.
 */
export function makeSingleFile({ html, assets, read, address }: SingleFileRequest): string {
  const split = html.indexOf("<body>");
  const put = (text: string) => () => text;
  const head = html
    .slice(0, split)
    .replace(
      /<meta http-equiv="Content-Security-Policy" content="[^"]*">/,
      put(`<meta http-equiv="Content-Security-Policy" content="${makePolicy(assets)}">`),
    )
    .replace(/<link rel="alternate"[^>]*>\n?/g, "")
    .replace(/<style>[\s\S]*?<\/style>/, put(`<style>${assets.css}</style>`));
  const scripts = `<script>${assets.chartJs}</script>\n<script>${assets.js}</script>`;
  return head + settleBody(html.slice(split), { read, address, scripts });
}
