import { describe, expect, it } from "vitest";
import { keepDates } from "../../lib/site/keep-dates.ts";

describe("keepDates", () => {
  it("keeps 3 and October on one line wherever a page names the day", () => {
    expect(keepDates("<h2>Test of 3 October 2026</h2><p>3 October, 23 May 2026.</p>")).toBe(
      "<h2>Test of 3\u00a0October 2026</h2><p>3 October, 23\u00a0May 2026.</p>",
    );
  });

  it("leaves records word for word, and scripts", () => {
    const html = "<pre># 3 October 2026</pre><script>'3 October 2026'</script>";
    expect(keepDates(html)).toBe(html);
  });
});
