import type { Token } from "markdown-it";
import { findBlockEnd } from "./find-block-end.ts";
import type { ParsedProse } from "./parse-prose.ts";
import type { ProsePlace } from "./prose-faults.ts";

/** A photo as the prose names it. */
export interface ProsePhoto {
  /** The paragraph's inline token, which stands for the photo. */
  token: Token;
  /** Path as written, relative to the train's folder. */
  file: string;
  /** What the photo shows, for those who do not see it. */
  words: string;
  /** Printed below; may be empty. */
  caption: string;
  place: ProsePlace;
}

/** A photo on the page: one file for each width, all without the camera's own notes. */
export interface PagePhoto {
  number: number;
  words: string;
  caption: string;
  /** Of the largest file, px. */
  width: number;
  height: number;
  /** Addresses from the page, narrowest first. */
  files: { href: string; width: number }[];
}

const isAddress = (source: string) => /^[a-z][a-z0-9+.-]*:|^\/\//i.test(source);

/** Photos of the prose: pictures alone in their paragraph. One within a sentence, or without words, is a fault. */
export function listPhotos(prose: ParsedProse): ProsePhoto[] {
  const { tokens, faults, environment } = prose;
  const photos: ProsePhoto[] = [];
  for (let at = 0; at < tokens.length; ) {
    const end = findBlockEnd(tokens, at);
    const block = tokens.slice(at, end);
    for (const token of block) {
      for (const image of (token.children ?? []).filter(({ type }) => type === "image")) {
        const source = String(image.attrGet("src") ?? "");
        if (isAddress(source)) continue;
        const place = locateImage(environment.lines, token.map?.[0] ?? block[0].map?.[0] ?? 0);
        const alone =
          block.length === 3 && block[0].type === "paragraph_open" && token.children?.length === 1;
        if (!alone) {
          faults.add(
            "not-alone",
            place,
            "a picture within a paragraph, list or table",
            "a picture in a paragraph of its own",
            "put empty lines before and behind it",
          );
        } else if (image.content.trim() === "") {
          faults.add(
            "no-words",
            place,
            "a picture without words: ![](…)",
            "words between the square brackets that say what it shows",
            "write ![what the picture shows](the file)",
          );
        } else {
          photos.push({
            token,
            file: decodePath(source),
            words: image.content.trim(),
            caption: String(image.attrGet("title") ?? "").trim(),
            place,
          });
        }
      }
    }
    at = end;
  }
  return photos;
}

/** Addresses in Markdown come percent-encoded; what cannot be decoded is left as it is and will not be found. */
function decodePath(source: string): string {
  try {
    return decodeURI(source);
  } catch {
    return source;
  }
}

function locateImage(lines: readonly string[], from: number): ProsePlace {
  const at = lines.slice(from, from + 200).findIndex((line) => line.includes("!["));
  const line = at < 0 ? from : from + at;
  return { line: line + 1, column: Math.max(0, lines[line]?.indexOf("![") ?? 0) + 1 };
}
