/** What a card's value can be. `text` where it is neither quoted, nor a number, nor T or F: an unquoted word, say. */
export type CardValue =
  | { kind: "string"; string: string }
  | { kind: "number"; number: number }
  | { kind: "logical"; logical: boolean }
  | { kind: "text"; text: string }
  | { kind: "none" };

/** One keyword of a header with its value. */
export interface Card {
  /** Upper case; for the HIERARCH convention the words after it, joined by single blanks. */
  keyword: string;
  value: CardValue;
  /** The value as text, without quotes, for `header:KEYWORD` in a record. */
  text: string;
  comment: string;
  /** True where the file has the keyword in lower case, which the standard does not allow. */
  lowerCase: boolean;
}

// FITS Standard 4.0, section 4.2.3 and 4.2.4: integers and reals, with E or D before the exponent.
const numberPattern = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[EeDd][+-]?\d+)?$/;

/** A FITS number as text to a number; NaN where the text is none ("3,76", "12 34"). */
export function parseFitsNumber(text: string): number {
  return numberPattern.test(text) ? Number(text.replace(/[Dd]/, "e")) : Number.NaN;
}

/** Text of the quoted string that starts at `start`, with doubled quotes undone, and where it ends; null if unclosed. */
function parseQuoted(card: string, start: number): { string: string; end: number } | null {
  let string = "";
  for (let i = start + 1; i < card.length; i++) {
    if (card[i] !== "'") {
      string += card[i];
    } else if (card[i + 1] === "'") {
      string += "'";
      i++;
    } else {
      // Trailing blanks of a string carry no meaning (FITS Standard 4.0, section 4.2.1.1).
      return { string: string.trimEnd(), end: i + 1 };
    }
  }
  return null;
}

/** The value and comment in a card's text from `start`, which is just after the value indicator. */
export function parseCardValue(card: string, start: number): Pick<Card, "value" | "text" | "comment"> {
  let first = start;
  while (card[first] === " ") first++;
  if (card[first] === "'") {
    const quoted = parseQuoted(card, first);
    if (quoted !== null) {
      const slash = card.indexOf("/", quoted.end);
      const comment = slash < 0 ? "" : card.slice(slash + 1).trim();
      return { value: { kind: "string", string: quoted.string }, text: quoted.string, comment };
    }
  }
  const slash = card.indexOf("/", first);
  const text = (slash < 0 ? card.slice(first) : card.slice(first, slash)).trim();
  const comment = slash < 0 ? "" : card.slice(slash + 1).trim();
  if (text === "") return { value: { kind: "none" }, text, comment };
  if (text === "T" || text === "F") {
    return { value: { kind: "logical", logical: text === "T" }, text, comment };
  }
  const number = parseFitsNumber(text);
  if (Number.isFinite(number)) return { value: { kind: "number", number }, text, comment };
  return { value: { kind: "text", text }, text, comment };
}

/**
 * One 80-character card as keyword, value and comment; null for a card without a value (COMMENT, HISTORY, blank).
 * Rules: FITS Standard 4.0 (2018), section 4; HIERARCH is a registered convention beside it.
 */
export function parseCard(card: string): Card | null {
  if (/^HIERARCH /i.test(card)) {
    // The equals sign that counts is the first outside the keyword's words; these cannot hold one.
    const equals = card.indexOf("=");
    if (equals < 0) return null;
    const keyword = card.slice(9, equals).trim().replace(/\s+/g, " ");
    if (keyword === "") return null;
    return { keyword: keyword.toUpperCase(), lowerCase: false, ...parseCardValue(card, equals + 1) };
  }
  const name = card.slice(0, 8).trimEnd();
  // The blank after the equals sign is demanded by the standard; writers that leave it out are understood.
  if (card[8] !== "=" || name === "" || /^(COMMENT|HISTORY)$/i.test(name)) return null;
  const keyword = name.toUpperCase();
  return { keyword, lowerCase: keyword !== name, ...parseCardValue(card, 9) };
}
