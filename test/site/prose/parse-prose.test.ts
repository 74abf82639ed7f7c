import { describe, expect, it } from "vitest";
import type { TrainResults } from "../../../lib/report/results.ts";
import { listFindings } from "../../../lib/site/list-findings.ts";
import { makeProse } from "../../../lib/site/prose/make-prose.ts";
import { parseProse } from "../../../lib/site/prose/parse-prose.ts";
import { indexPlaceables } from "../../../lib/site/prose/place-index.ts";
import { placeProse } from "../../../lib/site/prose/place-prose.ts";
import { makeSampleResults } from "../../fixtures/sample-results.ts";

const [results] = makeSampleResults();
const file = "content/trains/tarn-115-reduced/review.md";
const placeables = [
  { kind: "figure" as const, id: "fig-ledger" },
  { kind: "figure" as const, id: "fig-spokes-2026-10-03" },
  { kind: "table" as const, id: "tbl-zones-2026-10-03" },
];

/** HTML of the text alone, and what was found wrong. */
function readText(text: string, of: TrainResults = results): { html: string; faults: string[] } {
  const parsed = parseProse(of, text, file);
  const placed = placeProse(parsed, indexPlaceables(placeables, of.tests), listFindings(of));
  const parts = makeProse({ parsed, photos: new Map() }, placed, [], []);
  const html = parts.map((part) => (part.kind === "text" ? part.html : `[${part.kind}]`)).join("");
  const faults = parsed.faults.list.map(({ code, line, column }) => `${code} ${line}:${column}`);
  return { html, faults };
}

const readWords = (text: string) =>
  readText(text)
    .html.replace(/<[^>]*>/g, "")
    .replaceAll("\u00a0", " ")
    .trim();

const zone = results.tests[0].zones?.centre;

describe("a value in the prose", () => {
  it("is rounded to its interval and carries its unit: the sample's centre FWHM in arcsec", () => {
    const width = zone?.fwhm.arcsec;
    if (width === undefined || width.value === null) throw new Error("the sample has a width");
    const words = readWords("Stars are {{ tests.2026-10-03.zones.centre.fwhm.arcsec, with interval }} wide.");
    const told = /^Stars are ([\d.]+)″ \(([\d.]+) to ([\d.]+)\) wide\.$/.exec(words);
    const decimals = told?.[1].split(".")[1].length ?? 0;
    expect(told?.slice(1).map(Number)).toEqual(
      [width.value, width.lo, width.hi].map((value) => Number(value.toFixed(decimals))),
    );
    // Half the interval shows in one or two figures of the last places.
    const half = ((width.hi - width.lo) / 2) * 10 ** decimals;
    expect(half).toBeGreaterThanOrEqual(1);
    expect(half).toBeLessThan(30);
  });

  it("kept in three units carries all three for the page's switch", () => {
    const { html } = readText("{{ tests.first.zones.centre.fwhm }}");
    expect(html).toMatch(
      /data-unit-px="[\d.]+\u00a0px" data-unit-um="[\d.]+\u00a0µm" data-unit-arcsec="[\d.]+″"/,
    );
  });

  it("leads to where the page shows it", () => {
    expect(readText("{{ tests.0.zones.centre.fwhm.px }}").html).toContain('href="#tbl-zones-2026-10-03"');
    expect(readText("{{ backFocus.spacingError }}").html).toContain('href="#back-focus"');
  });

  it.each([
    ["{{ train.telescope.apertureMm }}", "115 mm"],
    ["{{ train.camera.pixelPitchUm }}", "3.76 µm"],
    ["{{ train.adjuster.screws.1.angleDeg }}", "210°"],
    ["{{ train.telescope.name }}", "Tarnlight 115"],
    ["{{ tests.first.date }}", "3 October 2026"],
    ["{{ train.stack.filter drawer.lengthMm }}", "20 mm"],
    ["{{ backFocus.spacingError, signed }}", "−0.682 mm"],
    ["{{ backFocus.spacingError, signed, without unit }}", "−0.682"],
  ])("prints %s as %s", (text, words) => {
    expect(readWords(text)).toBe(words);
    expect(readText(text).faults).toEqual([]);
  });

  it("is left alone in code, and where its brace is escaped", () => {
    expect(readWords("`{{ nothing }}` and \\{{ nothing }}")).toBe("{{ nothing }} and {{ nothing }}");
    expect(readText("    {{ nothing }}\n").faults).toEqual([]);
  });

  it("within a link is no link of its own", () => {
    const { html } = readText("[a {{ tests.first.zones.centre.fwhm.px }} star](#findings)");
    expect(html.match(/<a /g)).toHaveLength(1);
  });
});

describe("a fault of the prose", () => {
  it.each([
    ["text {{ tests.2026-10-03.zones.center.fwhm.um }}", "prose/unknown-name 1:6"],
    ["one\n\ntwo {{ train.name }} and {{ y }}", "prose/unknown-name 3:26"],
    ["| a |\n|---|\n| {{ nothing }} |", "prose/unknown-name 3:3"],
    ["- item\n- {{ tests.first.zonen }}", "prose/unknown-name 2:3"],
    ["two lines\nand {{ constructor.name }}", "prose/unknown-name 2:5"],
    ["{{ __proto__ }}", "prose/unknown-name 1:1"],
    ["{{ page.author }}", "prose/unknown-name 1:1"],
    ["{{ tests.first.zones }}", "prose/no-value 1:1"],
    ["{{ tests.first.zones.centre.fwhm.um, with intervall }}", "prose/unknown-word 1:1"],
    ["{{ train.name, signed }}", "prose/no-value 1:1"],
    ["{{ tests.first.sweep }}", "prose/no-value 1:1"],
    ["an open {{ name", "prose/not-closed 1:9"],
    ["{{ figur: ledger }}", "prose/unknown-kind 1:1"],
    ["{{ figure: ledgr }}", "prose/unknown-figure 1:1"],
    ["{{ figure: spokes }}", "prose/unknown-figure 1:1"],
    ["{{ table: ledger }}", "prose/unknown-table 1:1"],
    ["{{ finding: cornerwidth }}", "prose/unknown-finding 1:1"],
    ["{{ figure: ledger }}\n\n{{ figure: ledger }}", "prose/placed-twice 3:1"],
    ["> {{ figure: ledger }}", "prose/not-alone 1:3"],
    ["in {{ figure: ledger }} text", "prose/not-alone 1:4"],
    ["{{ see: ledger }}", "prose/unknown-name 1:1"],
    ["a {{ note: }} b", "prose/no-words 1:3"],
    ["a {{ note: b {{ nothing }} }}", "prose/unknown-name 1:14"],
  ])("in %j is told as %s", (text, fault) => {
    expect(readText(text).faults).toEqual([fault]);
  });

  it("offers the nearest names and the edit to make", () => {
    const parsed = parseProse(results, "{{ tests.2026-10-03.zones.center.fwhm.um }}", file);
    expect(parsed.faults.list[0]).toMatchObject({ file, fix: "write tests.2026-10-03.zones.centre" });
    expect(parsed.faults.list[0].allowed.split(", ")[0]).toBe("centre");
  });

  it("says why a value is not known", () => {
    const [, native] = makeSampleResults();
    const parsed = parseProse(native, "{{ sampling.lightGrasp }}", file);
    expect(parsed.faults.list[0].found).toContain("There is no corrector to compare with.");
  });

  it("is told at most 200 times, and 3000 placings are refused", () => {
    expect(readText(Array.from({ length: 900 }, () => "{{ x }}").join("\n\n")).faults).toHaveLength(200);
    expect(readText("{{ train.name }} ".repeat(3000)).faults).toEqual(["prose/too-many 1:1"]);
  });
});

describe("the prose", () => {
  it("points to figures and tables and puts what is placed between its paragraphs", () => {
    const text = "See {{ see: figure spokes first }}.\n\n{{ finding: corner-width }}\n\nEnd.";
    const named = { ...results, findings: [{ ...results.findings[0], name: "corner-width" }] };
    const { html, faults } = readText(text, named);
    expect(faults).toEqual([]);
    expect(html).toContain('<a href="#fig-spokes-2026-10-03">figure');
    expect(html).toMatch(/<\/p>\n\[finding\]<p>End/);
  });

  it("sets side notes behind the paragraph that calls them, with ways there and back", () => {
    const { html } = readText("A{{ note: first *note* }} and B{{ note: {{ train.name }} }}.\n\nC");
    expect(html).toContain('id="note-call-1" href="#note-1"');
    expect(html).toMatch(
      /<div class="notes"><p class="side sidenote" id="note-1">.*first <em>note<\/em>.*id="note-2".*<\/div><\/div>\s*<p>C/s,
    );
  });

  it("ranks headings below the page's own without a gap", () => {
    expect(readText("## A\n\n#### B\n\n## C").html).toBe("<h3>A</h3>\n<h4>B</h4>\n<h3>C</h3>\n");
  });

  it("prints tags as text and runs nothing", () => {
    const { html } = readText('<script>x</script> {{ train.name }} <b onclick="x">');
    expect(html).toContain("&lt;script&gt;");
    expect(html).not.toMatch(/<(script|b)\b/);
    const hostile = { ...results, name: '"><img src=x onerror=1>' };
    expect(readText("{{ name }} [{{ name }}](#a)", hostile).html).not.toContain("<img");
  });
});
