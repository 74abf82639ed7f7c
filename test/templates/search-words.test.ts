import { describe, expect, it } from "vitest";
import { type SearchEntry, searchReports } from "../../templates/script/search-words.ts";

const entry = (name: string, more: Partial<SearchEntry> = {}): SearchEntry => ({
  name,
  href: `trains/${name}/index.html`,
  parts: [],
  findings: [],
  prose: "",
  ...more,
});

const entries = [
  entry("Tarnlight 80", { prose: "A shim of 0.2 mm under the upper screw cured the tilt in Zürich." }),
  entry("Tarnlight 115 reduced", { findings: ["The sensor is 0.4 mm too close."], parts: ["Heron 26"] }),
  entry("Tilted adapter", { prose: "Nothing else." }),
];
const names = (asked: string) => searchReports(entries, asked).map(({ name }) => name);

describe("searchReports", () => {
  it("finds every word asked for at the start of a word, whatever case or accent", () => {
    expect(names("SHIM zurich")).toEqual(["Tarnlight 80"]);
    expect(names("shim close")).toEqual([]);
    expect(names("himself")).toEqual([]);
    expect(names("im")).toEqual([]);
  });

  it("puts a word in the name before one in the prose", () => {
    expect(names("tilt")).toEqual(["Tilted adapter", "Tarnlight 80"]);
  });

  it("finds numbers with their point, and nothing for nothing", () => {
    expect(names("0.4")).toEqual(["Tarnlight 115 reduced"]);
    expect(names(" .,- ")).toEqual(names(""));
    expect(names("")).toEqual([]);
  });

  it("shows the words about the find, cut at spaces", () => {
    const long = entry("Long", { prose: `${"before ".repeat(60)}needle ${"after ".repeat(60)}` });
    const [{ excerpt }] = searchReports([long], "needle");
    expect(excerpt).toMatch(/^… before .*needle .*after …$/);
    expect(excerpt.length).toBeLessThan(200);
  });
});
