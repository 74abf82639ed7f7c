import { readFile, realpath } from "node:fs/promises";
import { createServer, type Server } from "node:http";
import { extname, join, resolve, sep } from "node:path";

import { liveScript, makeLivePage, newsPath, scriptPath, waitingPage } from "./live-page.ts";

const TYPES: Record<string, string> = {
  ".html": "text/html; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".csv": "text/csv; charset=utf-8",
  ".xml": "application/xml; charset=utf-8",
  ".txt": "text/plain; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".webp": "image/webp",
  ".woff2": "font/woff2",
};

export interface SiteServer {
  address: string;
  /** Tells every open page to load again, or, with a text, what is wrong. */
  tell: (faults: string | null) => void;
  close: () => void;
}

/** The file for a request within the folder, "index.html" for a folder; null for anything outside or absent. */
async function findFile(dir: string, path: string): Promise<string | null> {
  let decoded: string;
  try {
    decoded = decodeURIComponent(path);
  } catch {
    return null;
  }
  const wanted = resolve(join(dir, decoded.endsWith("/") ? `${decoded}index.html` : decoded));
  const real = await realpath(wanted).catch(() => null);
  const root = await realpath(dir).catch(() => null);
  return real !== null && root !== null && real.startsWith(root + sep) ? real : null;
}

function listen(server: Server, port: number): Promise<number> {
  return new Promise((done, failed) => {
    server.once("error", failed);
    server.listen(port, "127.0.0.1", () => {
      const address = server.address();
      done(typeof address === "object" && address !== null ? address.port : port);
    });
  });
}

/**
 * Serves a built site to this machine alone. Only files within the folder are given out, links that lead out of it
 * included in the refusal. With `live` pages load again when told to.
 */
export async function serveSite(dir: string, port: number, live: boolean): Promise<SiteServer> {
  const waiting = new Set<(line: string) => void>();
  const writeNews = (event: string, text: string) => `event: ${event}\ndata: ${JSON.stringify(text)}\n\n`;
  let wrong: string | null = null;
  const server = createServer(async (request, response) => {
    const { pathname } = new URL(request.url ?? "/", "http://127.0.0.1");
    if (live && pathname === scriptPath) {
      response.writeHead(200, { "content-type": TYPES[".js"], "cache-control": "no-store" }).end(liveScript);
      return;
    }
    if (live && pathname === newsPath) {
      response.writeHead(200, { "content-type": "text/event-stream", "cache-control": "no-store" });
      const send = (line: string) => void response.write(line);
      waiting.add(send);
      send(wrong === null ? ": waiting\n\n" : writeNews("faults", wrong));
      request.on("close", () => waiting.delete(send));
      return;
    }
    const file = await findFile(dir, pathname);
    const bytes = file === null ? null : await readFile(file).catch(() => null);
    if ((file === null || bytes === null) && live && /(\/|\.html)$/.test(pathname)) {
      response
        .writeHead(200, { "content-type": TYPES[".html"], "cache-control": "no-store" })
        .end(waitingPage);
      return;
    }
    if (file === null || bytes === null) {
      response
        .writeHead(404, { "content-type": "text/plain; charset=utf-8" })
        .end("There is no such page.\n");
      return;
    }
    const type = TYPES[extname(file).toLowerCase()] ?? "application/octet-stream";
    const body = live && type.startsWith("text/html") ? makeLivePage(bytes.toString("utf8")) : bytes;
    response.writeHead(200, {
      "content-type": type,
      "cache-control": "no-store",
      "x-content-type-options": "nosniff",
    });
    response.end(body);
  });
  const taken = await listen(server, port);
  return {
    address: `http://127.0.0.1:${taken}/`,
    tell: (faults) => {
      wrong = faults;
      for (const send of waiting)
        send(faults === null ? writeNews("built", "") : writeNews("faults", faults));
    },
    close: () => {
      server.closeAllConnections();
      server.close();
    },
  };
}
