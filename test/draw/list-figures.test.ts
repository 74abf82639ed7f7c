import { describe, expect, it } from "vitest";
import { formatCsv } from "../../lib/draw/format-csv.ts";
import { makeStandalone } from "../../lib/draw/frame-figure.ts";
import { type FindSheet, listFigures } from "../../lib/draw/list-figures.ts";
import type { TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const findSheet: FindSheet = (test, kind) => ({
  href: `tests/${test}/${kind}.png`,
  cellPx: 33,
  cells: 40,
  missing: new Set(),
});
const hostile = `"><script>alert(1)</script>' onload='x =2+2 ${"\u202e"}${"long ".repeat(60)}`;

function makeHostile(): TrainResults {
  const [results] = makeSampleResults();
  results.name = hostile;
  for (const test of results.tests) {
    test.id = `../${test.id}${hostile}`;
    for (const crop of test.spokes?.crops ?? []) crop.file = hostile;
  }
  for (const line of results.backFocus?.lines ?? []) line.part = hostile;
  (results.train as { camera: { name: string } }).camera.name = hostile;
  return results;
}

/** Tags opened and closed in order; returns what is wrong. A picture of ours has no comment, entity or CDATA to read. */
function checkWellFormed(svg: string): string | null {
  const open: string[] = [];
  for (const [whole, close, name, attributes, selfClosing] of svg.matchAll(
    /<(\/?)([a-zA-Z]+)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/g,
  )) {
    if (close === "/") {
      if (open.pop() !== name) return `closed out of order: ${whole}`;
    } else if (selfClosing !== "/") open.push(name);
    const keys = [...attributes.matchAll(/([\w:-]+)=/g)].map((match) => match[1]);
    if (/^\s*on/i.test(attributes)) return `handler: ${whole}`;
    if (keys.length === 0 && attributes.trim() !== "") return `attributes: ${whole}`;
  }
  const rest = svg.replace(/<(\/?)([a-zA-Z]+)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>/g, "");
  if (/[<>]/.test(rest.replace(/&[a-z#0-9]+;/g, ""))) return "stray < or >";
  return open.length === 0 ? null : `left open: ${open.join(", ")}`;
}

describe("listFigures(results, findSheet)", () => {
  it("lists the train's figures, then those of each test, the night with logs among them, by fixed ids in page order", () => {
    const [reduced, native] = makeSampleResults();
    expect(listFigures(reduced, findSheet).map(({ id }) => id)).toEqual([
      "fig-section",
      "fig-sampling",
      "fig-zones",
      "fig-history",
      ...["2026-10-03", "2026-10-09", "2026-10-21"].flatMap((test) =>
        [
          ...["fig-spokes", "fig-shape-field", "fig-width-radius", "fig-radial-radius"],
          ...(test === "2026-10-03" ? ["fig-night"] : []),
        ].map((base) => `${base}-${test}`),
      ),
    ]);
    expect(listFigures(native, findSheet).filter(({ test }) => test === "2026-10-05")).toEqual([]);
  });

  it.each([
    ["samples", () => makeSampleResults()],
    ["hostile names", () => [makeHostile()]],
  ])("draws well-formed pictures with no NaN, undefined, script or handler: %s", (_, make) => {
    for (const results of make()) {
      for (const figure of listFigures(results, findSheet)) {
        expect(checkWellFormed(figure.svg.replace(/<style>[^<]*<\/style>/, ""))).toBeNull();
        const words = [figure.title, figure.subtitle, figure.alternative].join(" ");
        expect(`${figure.svg} ${words} ${formatCsv(figure.data)}`).not.toMatch(
          /NaN|undefined|Infinity|\[object/,
        );
        expect(JSON.stringify(figure.chart)).not.toMatch(/NaN|undefined|\[null|null\]/);
        expect(figure.id).toMatch(/^[A-Za-z][A-Za-z0-9_-]*$/);
        expect(figure.svg).not.toMatch(/<script|<foreignObject/i);
        expect(figure.svg).toContain('role="img"');
      }
    }
  });

  it("gives every id of a page once, in pictures too", () => {
    for (const results of [...makeSampleResults(), makeHostile()]) {
      const ids = listFigures(results, findSheet).flatMap((figure) => [
        figure.id,
        ...[...figure.svg.matchAll(/\sid="([^"]*)"/g)].map((match) => match[1]),
      ]);
      expect(new Set(ids).size).toBe(ids.length);
    }
  });

  it("gives the same bytes twice", () => {
    const draw = () => JSON.stringify(makeSampleResults().map((results) => listFigures(results, findSheet)));
    expect(draw()).toBe(draw());
  });

  it("still draws where single values are not known and no crop has a picture", () => {
    const [results] = makeSampleResults();
    const unknown = { value: null, unit: "um" as const, why: "Too few stars." };
    const zones = results.tests[2].zones!;
    zones.lowerRight.fwhm = { px: unknown, um: unknown, arcsec: unknown };
    zones.corner.fwhm = zones.lowerRight.fwhm;
    zones.upperLeft.radial = { ...unknown, unit: "ratio" };
    results.sampling.airyDiameter = unknown;
    results.tests[2].radialProfile!.fwhmUm[9] = unknown;
    const figures = listFigures(results, () => null);
    expect(figures.map(({ id }) => id)).toContain("fig-sampling");
    expect(figures.map(({ svg }) => svg).join("")).not.toMatch(/NaN|<image/);
  });
});

describe("the findings in the titles", () => {
  it("take at most 15 words and 140 characters even of hostile names", () => {
    const titles = makeSampleResults().flatMap((results) =>
      listFigures(results, findSheet).map(({ title }) => title),
    );
    for (const title of titles) expect(title.split(" ").length, title).toBeLessThanOrEqual(15);
    for (const { title } of listFigures(makeHostile(), findSheet))
      expect(title.length, title).toBeLessThanOrEqual(140);
  });

  it("follow the numbers: 41 % wider in the lower right, from 9.79 against 7.42 um and the like", () => {
    const [results] = makeSampleResults();
    const zones = results.tests[0].zones!;
    const percent = Math.round(100 * (zones.lowerRight.fwhm.um.value! / zones.centre.fwhm.um.value! - 1));
    const figure = listFigures(results, findSheet).find(({ id }) => id === "fig-width-radius-2026-10-03");
    expect(figure?.title).toBe(`Stars in the lower right are ${percent}\u00a0% wider than in the centre`);
  });

  it("say so where nothing stands out", () => {
    const native = makeSampleResults()[1];
    const centre = native.tests[0].zones!.centre;
    for (const corner of ["upperLeft", "upperRight", "lowerLeft", "lowerRight"] as const) {
      native.tests[0].zones![corner] = centre;
    }
    const titles = listFigures(native, findSheet).map(({ title }) => title);
    expect(titles).toContain("No corner’s stars are measurably wider than the centre’s");
    expect(titles).toContain("No corner shows stars drawn out along or across the radius");
  });
});

describe("makeStandalone(svg)", () => {
  it("leaves no CSS variable, so that programs without them draw the file", () => {
    for (const figure of listFigures(makeSampleResults()[0], findSheet)) {
      const file = makeStandalone(figure.svg);
      expect(file).not.toContain("var(");
      expect(
        file.startsWith('<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg"'),
      ).toBe(true);
    }
  });
});
