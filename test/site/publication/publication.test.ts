import { existsSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildSite } from "../../../lib/site/build-site.ts";
import { makeAtomFeed, makeNameUuid } from "../../../lib/site/publication/atom-feed.ts";
import { makeCitation } from "../../../lib/site/publication/citation.ts";
import { makeSearchText } from "../../../lib/site/publication/search-text.ts";
import { makeRobots, makeSitemap } from "../../../lib/site/publication/sitemap.ts";
import { drawCard } from "../../../lib/site/publication/social-card.ts";
import { makeSearchData } from "../../../lib/site/publication/write-publication.ts";
import { makeTrainSummary } from "../../../lib/site/train-summary.ts";
import { makeSampleResults } from "../../fixtures/sample-results.ts";
import {
  makeHostileResults,
  makeSampleFolder,
  makeSampleTrains,
  readPage,
  removeSampleFolders,
  sampleSite,
} from "../sample-site.ts";

const site = { ...sampleSite, baseUrl: "https://fellside.example/reports/" };
const nowhere = { ...sampleSite, baseUrl: "" };
const summaries = makeSampleResults().map(makeTrainSummary);
let outDir: string;

beforeAll(async () => {
  const dir = makeSampleFolder();
  outDir = join(dir, "site");
  const hostile = { ...makeHostileResults(), id: "hostile", name: "Hostile </script>" };
  const [reduced] = makeSampleResults();
  const trains = [...(await makeSampleTrains(dir, [reduced])), { results: hostile, cropDirs: {} }];
  await buildSite({ trains, site, outDir });
});
afterAll(removeSampleFolders);

describe("makeNameUuid", () => {
  it("gives the UUID that Python's uuid.uuid5(uuid.NAMESPACE_URL, name) gives (Python 3.11)", () => {
    expect(makeNameUuid("Fellside Star Club")).toBe("69f236d2-1ff3-57be-b056-a27d7a19f4ba");
  });
});

describe("makeAtomFeed", () => {
  it("lists trains with tests, newest first, with the elements that RFC 4287 asks of feed and entry", () => {
    const feed = makeAtomFeed(summaries, site);
    const entries = feed.split("<entry>").slice(1);
    expect(entries).toHaveLength(summaries.filter(({ lastTest }) => lastTest !== null).length);
    for (const part of [feed.split("<entry>")[0], ...entries]) {
      for (const name of ["title", "id", "updated"])
        expect(part).toMatch(new RegExp(`<${name}>[^<]+</${name}>`));
    }
    const times = entries.map((entry) => /<updated>([^<]+)/.exec(entry)?.[1] ?? "");
    expect(times).toEqual([...times].sort().reverse());
    expect(feed).toContain("<author><name>M. Harrowgate</name></author>");
    expect(feed).toContain('href="https://fellside.example/reports/trains/tarn-115-reduced/"');
    expect(feed).toContain('type="application/atom+xml" href="https://fellside.example/reports/feed.xml"');
  });

  it("has relative links without a site address, leaves drafts out, and keeps its ids when the site moves", () => {
    expect(makeAtomFeed(summaries, nowhere)).toContain('href="trains/tarn-115-reduced/index.html"');
    const drafts = summaries.map((summary) => ({ ...summary, isDraft: true }));
    expect(makeAtomFeed(drafts, site)).not.toContain("<entry>");
    const listIds = (feed: string) => [...feed.matchAll(/<id>([^<]+)/g)].map(([, id]) => id);
    expect(listIds(makeAtomFeed(summaries, site))).toEqual(listIds(makeAtomFeed(summaries, nowhere)));
  });

  it("lets no record break out of its element", () => {
    const feed = makeAtomFeed([makeTrainSummary(makeHostileResults())], site);
    expect(feed).not.toMatch(/<script|<img|\u202e/);
    expect(feed.split("<entry>")).toHaveLength(2);
  });
});

describe("makeSitemap", () => {
  it("names each page by its whole address with the date of its last test; null without an address", () => {
    const map = makeSitemap(summaries, site, ["methods/"]) ?? "";
    expect([...map.matchAll(/<loc>([^<]+)<\/loc>/g)].map(([, loc]) => loc)).toEqual([
      "https://fellside.example/reports/",
      "https://fellside.example/reports/methods/",
      ...summaries.map(({ id }) => `https://fellside.example/reports/trains/${id}/`),
    ]);
    expect(map).toMatch(/<lastmod>\d{4}-\d\d-\d\d<\/lastmod>/);
    expect(makeSitemap(summaries, nowhere, [])).toBeNull();
  });
});

describe("makeRobots", () => {
  it("names the map at the root of a host, and is not written where it would not be read", () => {
    expect(makeRobots({ ...site, baseUrl: "https://fellside.example/" })).toBe(
      "User-agent: *\nAllow: /\nSitemap: https://fellside.example/sitemap.xml\n",
    );
    expect(makeRobots(site)).toBeNull();
    expect(makeRobots(nowhere)).toBeNull();
  });
});

describe("makeCitation", () => {
  it("says who, when, what, from which tests, where and which state", () => {
    const [results] = makeSampleResults();
    const { text } = makeCitation(results, site, "0123456789abcdef");
    expect(text).toMatch(/^M\. Harrowgate, .*\(2026\): .+, 3 tests from .+ to .+\. https:/);
    expect(text).toMatch(/\/reports\/trains\/tarn-115-reduced\/\. State 0123456789ab\.$/);
    expect(makeCitation({ ...results, tests: [] }, nowhere, "0123456789abcdef").text).toContain(
      "no test yet",
    );
  });
});

describe("a train's page", () => {
  it("carries linked data that parses: a data set with its results and a review, with whole addresses", () => {
    for (const id of ["tarn-115-reduced", "hostile"]) {
      const html = readPage(outDir, `trains/${id}/index.html`);
      const text = /<script type="application\/ld\+json">([\s\S]*?)<\/script>/.exec(html)?.[1] ?? "";
      const data = JSON.parse(text) as { "@graph": Record<string, unknown>[] };
      expect(data["@graph"].map((part) => part["@type"])).toEqual(["Dataset", "Review"]);
      expect(text).not.toContain("<");
      expect(JSON.stringify(data["@graph"][0].distribution)).toContain(
        `https://fellside.example/reports/trains/${id}/results.json`,
      );
    }
  });

  it("names its address once as canonical and a card of 1200 x 630 px that is there", async () => {
    const html = readPage(outDir, "trains/tarn-115-reduced/index.html");
    const address = "https://fellside.example/reports/trains/tarn-115-reduced/";
    expect(html.split(`<link rel="canonical" href="${address}">`)).toHaveLength(2);
    expect(html).toContain(`<meta property="og:image" content="${address}card.png">`);
    const facts = await sharp(join(outDir, "trains/tarn-115-reduced/card.png")).metadata();
    expect([facts.width, facts.height]).toEqual([1200, 630]);
  });

  it("draws its card from outlines alone, and cuts what does not fit into 630 px", () => {
    const finding = { level: "Fail", sentence: "long ".repeat(200) };
    const svg = drawCard({ site: "s".repeat(300), name: "word ".repeat(80), finding, foot: "" });
    expect(svg).not.toMatch(/<text|font-family|NaN/);
    const ys = [...svg.matchAll(/transform="translate\((\d+) (\d+)\)/g)].map(([, , y]) => Number(y));
    expect(Math.max(...ys)).toBeLessThan(630);
  });
});

describe("makeSearchText", () => {
  it("has sentences of the author's prose with the values that they place, and no name of a value", () => {
    const [results] = makeSampleResults();
    const reviewMarkdown =
      "A scale of {{ sampling.focalLength }}, in {{ see: table zones first }}.{{ note: Pixels of {{ train.camera.pixelPitchUm }}. }} {{ figure: spokes first }} {{ nothing.there }}";
    const { prose } = makeSearchText({ ...results, page: { ...results.page, reviewMarkdown } });
    expect(prose).toMatch(/^A scale of 636 mm, in the table\. \(Pixels of 3\.76 µm\.\) …/);
  });
});

describe("makeSearchData", () => {
  it("holds names, parts, findings and prose of published reports and cannot leave its script", () => {
    const data = makeSearchData([...summaries, makeTrainSummary(makeHostileResults())]);
    expect(data).not.toContain("<");
    const entries = JSON.parse(data.slice(data.indexOf("[")).replace(/;\n$/, "")) as { parts: string[] }[];
    expect(entries).toHaveLength(summaries.length + 1);
    expect(entries[0].parts.length).toBeGreaterThan(2);
    const drafts = summaries.map((summary) => ({ ...summary, isDraft: true }));
    expect(makeSearchData(drafts)).toContain("=[];");
    expect(existsSync(join(outDir, "assets/search-data.js"))).toBe(true);
  });
});
