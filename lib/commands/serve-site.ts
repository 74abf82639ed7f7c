import { readFile, realpath } from "node:fs/promises";
import { createServer, type Server } from "node:http";
import { extname, join, resolve, sep } from "node:path";

const TYPES: Record<string, string> = {
  ".html": "text/html; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".csv": "text/csv; charset=utf-8",
  ".txt": "text/plain; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".webp": "image/webp",
  ".woff2": "font/woff2",
};

const reloadPath = "/.reload";
/** Pages of the live view listen for a rebuild; the files on disk stay as they are. */
const reloadScript = `<script>new EventSource("${reloadPath}").onmessage=()=>location.reload()</script>`;

export interface SiteServer {
  address: string;
  /** Tells every open page to load again. */
  reload: () => void;
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
  const server = createServer(async (request, response) => {
    const { pathname } = new URL(request.url ?? "/", "http://127.0.0.1");
    if (live && pathname === reloadPath) {
      response.writeHead(200, { "content-type": "text/event-stream", "cache-control": "no-store" });
      const send = (line: string) => void response.write(line);
      waiting.add(send);
      request.on("close", () => waiting.delete(send));
      return;
    }
    const file = await findFile(dir, pathname);
    const bytes = file === null ? null : await readFile(file).catch(() => null);
    if (file === null || bytes === null) {
      response
        .writeHead(404, { "content-type": "text/plain; charset=utf-8" })
        .end("There is no such page.\n");
      return;
    }
    const type = TYPES[extname(file).toLowerCase()] ?? "application/octet-stream";
    const body =
      live && type.startsWith("text/html") ? Buffer.concat([bytes, Buffer.from(reloadScript)]) : bytes;
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
    reload: () => {
      for (const send of waiting) send("data: reload\n\n");
    },
    close: () => {
      server.closeAllConnections();
      server.close();
    },
  };
}
