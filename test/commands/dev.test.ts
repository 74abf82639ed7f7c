import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type LiveView, startDev } from "../../lib/commands/dev.ts";
import { openBrowser } from "../site/browser.ts";
import { listStarContent, writeStarContent } from "./star-content.ts";

let scratch: string;
let content: string;
let view: LiveView;
let browser: Browser;
const steps: string[] = [];

beforeAll(async () => {
  scratch = mkdtempSync(join(tmpdir(), "rig-report-dev-"));
  content = join(scratch, "content");
  writeStarContent(content, listStarContent({ trains: 1, stars: 25 }));
  const terminal = { step: (line: string) => void steps.push(line), result: () => {} };
  view = await startDev({ contentDir: content, outDir: join(scratch, "site"), port: 18_431 }, terminal);
  browser = await openBrowser();
});
afterAll(async () => {
  await browser?.close();
  view?.close();
  rmSync(scratch, { recursive: true, force: true });
});

describe("npm run dev", () => {
  it("shows an edit of the prose in the open page", async () => {
    const page = await browser.newPage();
    const complaints: string[] = [];
    page.on("console", (message) => {
      if (/error|warning/.test(message.type())) complaints.push(message.text());
    });
    await page.goto(`${view.address}trains/tarn-80-0/index.html`);
    await page.getByText("A steady night, and the same").waitFor();
    writeFileSync(join(content, "trains/tarn-80-0/review.md"), "The ring was turned by half a turn.\n");
    await page.getByText("The ring was turned by half a turn.").waitFor();
    expect(complaints).toEqual([]);
    await page.close();
  });

  it("names file, line and mending of a fault over the open page, and goes on once it is mended", async () => {
    const page = await browser.newPage();
    await page.goto(`${view.address}index.html`);
    const record = join(content, "trains/tarn-80-0/train.yaml");
    const text = readFileSync(record, "utf8");
    writeFileSync(record, text.replace("pixelPitchUm: 3.76", "pixelPitchUm: <b>wide</b>"));
    const panel = page.locator("#live-faults");
    await panel.waitFor();
    const said = (await panel.textContent()) ?? "";
    expect(said).toMatch(/train\.yaml:7:\d+ at camera\.pixelPitchUm/);
    expect(said).toMatch(/found +.*<b>wide<\/b>/);
    expect(said).toMatch(/fix +\S/);
    // A page opened meanwhile says so too.
    const other = await browser.newPage();
    await other.goto(`${view.address}trains/tarn-80-0/index.html`);
    await other.locator("#live-faults").waitFor();
    writeFileSync(record, text.replace("Tarnlight 80 no. 0", "Tarnlight 80, mended"));
    await page.getByText("Tarnlight 80, mended").first().waitFor();
    expect(await page.locator("#live-faults").count()).toBe(0);
    await other.locator("h1", { hasText: "Tarnlight 80, mended" }).waitFor();
  });

  it("leaves the built pages on disk as a visitor of the published site would get them", () => {
    expect(readFileSync(join(scratch, "site/index.html"), "utf8")).not.toContain("/.live");
  });
});
