/** What a YAML parser's error means to someone who did not know that the file is YAML. */
export interface YamlExplanation {
  found: string;
  allowed: string;
  fix: string;
}

const pairs = "one 'key: value' a line, items of a list behind '- ' or in [ ]";

const explanations: Record<string, YamlExplanation> = {
  TAB_AS_INDENT: {
    found: "a tab at the beginning of a line",
    allowed: "spaces only, two for each step inwards",
    fix: "replace the tab by spaces",
  },
  BAD_INDENT: {
    found: "a line that is set in too little or too far, or a bracket that is not closed",
    allowed: "keys of one mapping below each other, two more spaces for each step inwards",
    fix: "line it up with its neighbours; close every [ and { before this place; set no lines in under a key that has its value behind the colon",
  },
  BLOCK_AS_IMPLICIT_KEY: {
    found: "a second ': ' on the line, or a line set in under a finished value",
    allowed: pairs,
    fix: 'put text that holds a colon in quotes: "like: this"; line keys of one mapping up',
  },
  MULTILINE_IMPLICIT_KEY: {
    found: "a key that runs over more than one line",
    allowed: pairs,
    fix: "put a colon and a space behind the key, and close every quote and bracket before it",
  },
  MISSING_CHAR: {
    found: "a quote, bracket, colon or comma is missing",
    allowed: "every quote and bracket closed, a colon and a space behind each key",
    fix: "close it; text with a quote in it is best put in the other kind of quotes",
  },
  BAD_SCALAR_START: {
    found: "a value that begins with a character kept for other uses (@ ` %)",
    allowed: "text that begins with such a character in quotes",
    fix: 'put the value in quotes: "@..."',
  },
  UNEXPECTED_TOKEN: {
    found: "something that does not belong here",
    allowed: pairs,
    fix: "look for a missing space behind a colon, or a bracket or quote too many",
  },
  MULTIPLE_DOCS: {
    found: "a second record in the same file, begun by ---",
    allowed: "one record a file",
    fix: "move the second record to a file of its own",
  },
  BAD_DIRECTIVE: {
    found: "a line that begins with %",
    allowed: "no such lines",
    fix: "take the line out, or put the text in quotes",
  },
};

/** The explanation of an error code of the parser; one that is seldom seen keeps the parser's own words. */
export function explainYamlError(code: string, message: string): YamlExplanation {
  const known = explanations[code];
  if (known !== undefined) return known;
  return {
    found: message.split("\n")[0],
    allowed: pairs,
    fix: "mend the line; the rest of the file is read after that",
  };
}
