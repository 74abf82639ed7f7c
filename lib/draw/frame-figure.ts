import { colours } from "./palette.ts";
import { drawElement, escapeText } from "./svg.ts";
import { narrowBelowPx, textSize } from "./text-width.ts";

/** Width of every figure in its own units; it scales to the width it is given. */
export const figureWidth = 480;

const textFace = 'var(--font-text, "Report Serif", "Source Serif 4", Georgia, "Times New Roman", serif)';
const figuresFace =
  'var(--font-figures, "Report Sans", "Source Sans 3", "Helvetica Neue", Arial, sans-serif)';

/** An id safe in XML, CSS and addresses. A name that had to be changed keeps apart by `index`, its place in the list. */
export function makeFigureId(base: string, testId: string, index: number): string {
  const safe = testId.replace(/[^A-Za-z0-9_-]+/g, "-").slice(0, 60);
  return safe === testId && safe !== "" ? `${base}-${safe}` : `${base}-${safe}-n${index + 1}`;
}

/** Id of the picture itself, as the figure around it carries the figure's own. */
export function makeDrawingId(id: string): string {
  return `${id}-drawing`;
}

/** Rules hold for this drawing alone, as a style within an inline picture reaches the whole page. */
function writeStyle(id: string): string {
  const self = `#${makeDrawingId(id)}`;
  return [
    `${self}{font-family:${textFace};font-size:${textSize.wide}px;fill:${colours.ink}}`,
    `${self} .num{font-family:${figuresFace};font-variant-numeric:tabular-nums lining-nums}`,
    `${self} .soft{fill:${colours.inkSoft}}`,
    `${self} .strong{font-weight:600}`,
    `@media (max-width:${narrowBelowPx}px){${self}{font-size:${textSize.narrow}px}}`,
  ].join("");
}

export interface DrawingWords {
  id: string;
  title: string;
  alternative: string;
}

/**
 * The picture as one SVG element: paper, style, title and description for those who do not see it, then the content.
 * It is the same inline and, with `makeStandalone`, as a file of its own.
 */
export function frameDrawing(words: DrawingWords, height: number, ...content: string[]): string {
  const drawing = makeDrawingId(words.id);
  return drawElement(
    "svg",
    {
      xmlns: "http://www.w3.org/2000/svg",
      id: drawing,
      class: "drawing",
      viewBox: `0 0 ${figureWidth} ${Math.ceil(height)}`,
      width: figureWidth,
      height: Math.ceil(height),
      role: "img",
      "aria-labelledby": `${drawing}-title ${drawing}-desc`,
    },
    drawElement("title", { id: `${drawing}-title` }, escapeText(words.title)),
    drawElement("desc", { id: `${drawing}-desc` }, escapeText(words.alternative)),
    `<style>${writeStyle(words.id)}</style>`,
    drawElement("rect", { width: figureWidth, height: Math.ceil(height), fill: colours.paper }),
    ...content,
  );
}

/**
 * The picture for a file of its own: variables of the page are replaced by their fallbacks, so that programs that know
 * no CSS variables draw it too.
 */
export function makeStandalone(svg: string): string {
  const resolved = svg.replace(/var\(--[a-z0-9-]+,\s*([^()]*)\)/g, "$1");
  return `<?xml version="1.0" encoding="UTF-8"?>\n${resolved}\n`;
}
