import { describe, expect, it } from "vitest";
import { splitReview } from "../../lib/records/split-review.ts";

const file = "content/trains/tarn/review.md";

describe("splitReview", () => {
  it("takes prose without a head as it is, not a draft", () => {
    expect(splitReview("# A\n\nText", file)).toEqual({
      record: { draft: false, summary: "" },
      markdown: "# A\n\nText",
      faults: [],
    });
  });

  it("reads a head and leaves its 4 lines empty, so that line 5 stays line 5", () => {
    const { record, markdown, faults } = splitReview(
      "---\ndraft: true\nsummary: It works.\n---\nFirst",
      file,
    );
    expect(faults).toEqual([]);
    expect(record).toEqual({ draft: true, summary: "It works." });
    expect(markdown.split("\n")[4]).toBe("First");
    expect(markdown.trim()).toBe("First");
  });

  it("takes an empty head, and line ends of Windows", () => {
    expect(splitReview("---\r\n---\r\nText", file).record).toEqual({ draft: false, summary: "" });
    expect(splitReview("---\r\ndraft: true\r\n---\r\nText", file).record?.draft).toBe(true);
  });

  it.each([
    ["---\ndraft: yes\n---\n", "records/wrong-value", 2, 8],
    ["---\n\ndraff: true\n---\n", "records/unknown-key", 3, 1],
    ["---\nsummary: [a]\n---\n", "records/wrong-value", 2, 10],
    ["---\nsummary: 'open\n---\n", "records/broken-yaml", 2, 10],
    ["---\ndraft: true\n", "records/open-head", 1, 1],
  ])("tells what is wrong in %j as %s at %i:%i", (text, code, line, column) => {
    const { record, faults } = splitReview(text, file);
    expect(record).toBeNull();
    expect(faults[0]).toMatchObject({ code, file, line, column });
  });

  it("takes a rule across the page for a rule where it does not stand on the first line", () => {
    expect(splitReview("\n---\ntext", file).markdown).toBe("\n---\ntext");
  });
});
