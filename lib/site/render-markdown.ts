import markdownIt, { type MarkdownIt } from "markdown-it";
import { escapeHtml } from "./escape-text.ts";

/** Headings of prose start below the page's own. */
const headingShift = 2;

/**
 * Markdown with no raw HTML: what looks like a tag is printed as text. Links to scripts and data are refused by the
 * library's own check. Pictures become links or their words, so that no page fetches from another host.
 */
export function makeMarkdown(): MarkdownIt {
  // Apostrophes and single quotes become the typesetter's; double quotes differ between languages and stay as typed.
  const markdown = markdownIt({
    html: false,
    linkify: false,
    typographer: true,
    quotes: ['"', '"', "‘", "’"],
  });
  markdown.core.ruler.disable("replacements");
  const { rules } = markdown.renderer;

  rules.image = (tokens, index) => {
    const { attrs, content } = tokens[index];
    const source = String(attrs?.find(([name]) => name === "src")?.[1] ?? "");
    const words = escapeHtml(content === "" ? source : content);
    return /^https?:/i.test(source) ? `<a href="${escapeHtml(source)}">${words}</a>` : words;
  };

  for (const rule of ["heading_open", "heading_close"]) {
    rules[rule] = (tokens, index, options, _environment, self) => {
      const level = Math.min(6, Number(tokens[index].tag.slice(1)) + headingShift);
      tokens[index].tag = `h${level}`;
      return self.renderToken(tokens, index, options);
    };
  }

  rules["th_open"] = (tokens, index, options, _environment, self) => {
    tokens[index].attrs = [["scope", "col"]];
    return self.renderToken(tokens, index, options);
  };

  rules["td_open"] = (tokens, index, options, _environment, self) => {
    tokens[index].attrs = null;
    return self.renderToken(tokens, index, options);
  };

  rules["table_open"] = () => '<section class="scroll" tabindex="0" aria-label="Table in the prose"><table>';
  rules["table_close"] = () => "</table></section>";
  return markdown;
}

const plain = makeMarkdown();

/** HTML of a night's notes, safe to set into a page. */
export function renderMarkdown(text: string): string {
  return plain.render(text);
}
