import { describe, expect, it } from "vitest";
import { renderMarkdown } from "../../lib/site/render-markdown.ts";

describe("renderMarkdown", () => {
  it("prints raw HTML as text", () => {
    expect(renderMarkdown("<script>x</script>")).toBe("<p>&lt;script&gt;x&lt;/script&gt;</p>\n");
  });

  it("sets apostrophes as a typesetter does and leaves double quotes, code and (c) as typed", () => {
    expect(renderMarkdown('that night\'s "corners" (c)')).toBe(
      "<p>that night’s &quot;corners&quot; (c)</p>\n",
    );
    expect(renderMarkdown("`night's`")).toBe("<p><code>night's</code></p>\n");
  });

  it("makes no link of a script or data address", () => {
    for (const address of ["javascript:alert(1)", "vbscript:x", "data:text/html,x", "JaVaScRiPt:x"]) {
      expect(renderMarkdown(`[x](${address})`)).not.toContain("<a");
    }
  });

  it("turns a picture from another host into a link, so that nothing is fetched", () => {
    expect(renderMarkdown("![the rig](https://example.org/rig.jpg)")).toBe(
      '<p><a href="https://example.org/rig.jpg">the rig</a></p>\n',
    );
  });

  it("sets headings below those of the page and gives table heads their scope", () => {
    expect(renderMarkdown("# Verdict")).toBe("<h3>Verdict</h3>\n");
    const table = renderMarkdown("| a | b |\n|--|:-:|\n| 1 | 2 |");
    expect(table).toContain('<th scope="col">b</th>');
    expect(table).not.toContain("style=");
  });
});
