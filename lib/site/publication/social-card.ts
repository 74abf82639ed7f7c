import { readFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import { grounds } from "../../draw/palette.ts";
import { escapeText } from "../../draw/svg.ts";
import { templatesDir } from "../template-files.ts";

/** What a card says. */
export interface CardWords {
  site: string;
  name: string;
  /** The finding that comes first; null where there is none yet. */
  finding: { level: string; sentence: string } | null;
  foot: string;
}

interface Outlines {
  unitsPerEm: number;
  /** By sign: advance and path, y up. */
  glyphs: Record<string, [number, string]>;
}

/** The size that services ask for (Open Graph images of 1.91 to 1; common practice, no source). */
export const cardSize = { width: 1200, height: 630 };
const margin = 72;

let known: Outlines | null = null;

function readOutlines(): Outlines {
  known ??= JSON.parse(
    readFileSync(join(templatesDir, "fonts/report-serif-outlines.json"), "utf8"),
  ) as Outlines;
  return known;
}

function measureText(text: string, size: number, { glyphs, unitsPerEm }: Outlines): number {
  let units = 0;
  for (const sign of text) units += (glyphs[sign] ?? glyphs["?"])[0];
  return (units * size) / unitsPerEm;
}

/** A line of text as outlines; a sign that the typeface has not is a question mark. */
function drawLine(
  text: string,
  x: number,
  y: number,
  size: number,
  colour: string,
  outlines: Outlines,
): string {
  const scale = size / outlines.unitsPerEm;
  let at = 0;
  const paths = [...text].map((sign) => {
    const [advance, path] = outlines.glyphs[sign] ?? outlines.glyphs["?"];
    const drawn = path === "" ? "" : `<path transform="translate(${at} 0)" d="${path}"/>`;
    at += advance;
    return drawn;
  });
  return `<g fill="${escapeText(colour)}" transform="translate(${x} ${y}) scale(${scale} ${-scale})">${paths.join("")}</g>`;
}

/** Words set into lines of a width, at most so many; what does not fit ends in an ellipsis. */
function breakLines(text: string, size: number, most: number, outlines: Outlines): string[] {
  const width = cardSize.width - 2 * margin;
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/)) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (line === "" || measureText(longer, size, outlines) <= width) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  lines.push(line);
  const kept = lines.slice(0, most).map((text) => cutLine(text, size, width, outlines));
  if (lines.length > most) kept[most - 1] = cutLine(`${kept[most - 1]} …`, size, width, outlines);
  return kept;
}

function cutLine(line: string, size: number, width: number, outlines: Outlines): string {
  let text = line;
  while (text.length > 2 && measureText(text, size, outlines) > width) text = `${text.replace(/.…?$/u, "")}…`;
  return text;
}

/** The card as SVG: the head of a printed report, with its first finding; nothing but outlines, so no font is asked for. */
export function drawCard(words: CardWords): string {
  const outlines = readOutlines();
  const { paper, ink, inkSoft, rule } = grounds.light;
  const { width, height } = cardSize;
  const parts = [
    drawLine(cutLine(words.site, 30, width - 2 * margin, outlines), margin, 96, 30, inkSoft, outlines),
  ];
  let y = 200;
  for (const line of breakLines(words.name, 66, 2, outlines)) {
    parts.push(drawLine(line, margin, y, 66, ink, outlines));
    y += 78;
  }
  if (words.finding !== null) {
    const said = `${words.finding.level}. ${words.finding.sentence}`;
    y += 18;
    for (const line of breakLines(said, 36, 4, outlines)) {
      parts.push(drawLine(line, margin, y, 36, ink, outlines));
      y += 50;
    }
  }
  const foot = cutLine(words.foot, 26, width - 2 * margin, outlines);
  const hairline = (at: number) =>
    `<path d="M${margin} ${at}H${width - margin}" stroke="${rule}" stroke-width="2"/>`;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}">`,
    `<rect width="${width}" height="${height}" fill="${paper}"/>`,
    hairline(122),
    hairline(height - 84),
    ...parts,
    drawLine(foot, margin, height - 42, 26, inkSoft, outlines),
    "</svg>",
  ].join("");
}

/** The card as PNG of few colours. */
export function renderCard(words: CardWords): Promise<Buffer> {
  return sharp(Buffer.from(drawCard(words)))
    .png({ palette: true, colours: 16, compressionLevel: 9 })
    .toBuffer();
}
