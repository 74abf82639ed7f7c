import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { checkSite, rootFolders } from "../../lib/site/check-site.ts";
import { makeSampleFolder, removeSampleFolders } from "./sample-site.ts";

afterAll(removeSampleFolders);

async function listFound(html: string): Promise<string[]> {
  const dir = makeSampleFolder();
  mkdirSync(join(dir, "methods"));
  writeFileSync(join(dir, "index.html"), html);
  writeFileSync(join(dir, "methods/index.html"), '<p id="here">');
  mkdirSync(join(dir, "glossary"));
  return checkSite(dir, rootFolders).map(({ code, found }) => `${code}: ${found}`);
}

describe("checkSite", () => {
  it("finds nothing on a page whose links, references and ids are whole", async () => {
    const html = '<a href="methods/index.html#here"></a><a href="#a"></a><p id="a" aria-labelledby="a">';
    expect(await listFound(`${html}<a href="https://example.org/x"></a>`)).toEqual([]);
  });

  it("names each dead file, anchor, picture, reference and doubled id", async () => {
    const html =
      '<a href="gone.html"></a><a href="methods/index.html#gone"></a><img src="gone.png"><p aria-labelledby="gone"></p><p id="a"></p><p id="a"></p>';
    expect(await listFound(html)).toEqual([
      'site/same-id: two elements with the id "a"',
      'site/dead-link: a reference to the missing id "gone"',
      'site/dead-link: a link to "gone.html", where there is nothing',
      'site/dead-link: a link to "methods/index.html#gone", where no element has this id',
      'site/dead-link: a link to "gone.png", where there is nothing',
    ]);
  });

  it("refuses addresses that leave the site or start at its root", async () => {
    expect(
      await listFound('<a href="../../etc/hosts"></a><a href="/index.html"></a><a href="%zz"></a>'),
    ).toHaveLength(3);
  });

  it("takes no text of a script for a link", async () => {
    expect(await listFound("<script>var a = '<a href=\"gone.html\">';</script>")).toEqual([]);
  });
});
