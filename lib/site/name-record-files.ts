import type { TrainResults } from "../report/results.ts";
import { makeSafePath } from "./escape-text.ts";

/** The records with the address of each beside the page; equal addresses are told apart by a number. */
export function nameRecordFiles(
  results: TrainResults,
): { file: string; text: string; href: string; language: "yaml" | "json" | "plain" }[] {
  const taken = new Set<string>();
  return results.page.records.map(({ file, text }) => {
    const own = `trains/${results.id}/`;
    const safe = makeSafePath(file.startsWith(own) ? file.slice(own.length) : file);
    let href = `records/${safe}`;
    for (let k = 2; taken.has(href.toLowerCase()); k++) href = `records/${k}-${safe}`;
    taken.add(href.toLowerCase());
    return { file, text, href, language: nameLanguage(file) };
  });
}

/** Only a language that the highlighter knows is given to it: it escapes the text of these, and of no other. */
function nameLanguage(file: string): "yaml" | "json" | "plain" {
  if (/\.ya?ml$/i.test(file)) return "yaml";
  if (/\.json$/i.test(file)) return "json";
  return "plain";
}
