import { accessSync, constants } from "node:fs";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { chromium } from "playwright-core";

const quietArgs = [
  "--no-sandbox",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

function isProgram(path: string | undefined): path is string {
  if (path === undefined || path === "") return false;
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** Programs to try, best first: the one named by CHROMIUM, the system's, the one that came with the test packages. */
async function listPrograms(): Promise<string[]> {
  const installed = [process.env["CHROMIUM"], "/usr/bin/chromium"].filter(isProgram);
  if (installed.length > 0) return installed;
  const packed = await import("@sparticuz/chromium").then(
    ({ default: packaged }) => packaged.executablePath(),
    () => undefined,
  );
  return isProgram(packed) ? [packed] : [];
}

/** A headless browser. Rejects with one line that names the package to install where none can be started. */
export async function openBrowser(): Promise<Browser> {
  for (const executablePath of await listPrograms()) {
    const browser = await chromium.launch({ executablePath, args: quietArgs }).catch(() => null);
    if (browser !== null) return browser;
  }
  throw new Error(
    "No browser could be started: install Debian's package chromium (or libnss3 and libnspr4 for the one from npm), or set CHROMIUM to a browser's path.",
  );
}

export interface Visit {
  width?: number;
  dark?: boolean;
  script?: boolean;
}

/** Opens a page from disk and hands it on with all it complained of and all it asked for. */
export async function visitPage<T>(
  browser: Browser,
  file: string,
  { width = 1440, dark = false, script = true }: Visit,
  look: (page: Page, complaints: string[], requests: string[]) => Promise<T>,
): Promise<T> {
  const context = await browser.newContext({
    viewport: { width, height: 900 },
    colorScheme: dark ? "dark" : "light",
    javaScriptEnabled: script,
    bypassCSP: false,
  });
  try {
    const page = await context.newPage();
    const complaints: string[] = [];
    const requests: string[] = [];
    page.on("console", (message) => {
      if (message.type() === "error" || message.type() === "warning") complaints.push(message.text());
    });
    page.on("pageerror", (error) => complaints.push(String(error)));
    page.on("requestfailed", (request) => complaints.push(`failed: ${request.url()}`));
    page.on("request", (request) => requests.push(request.url()));
    await page.goto(pathToFileURL(file).href);
    return await look(page, complaints, requests);
  } finally {
    await context.close();
  }
}
