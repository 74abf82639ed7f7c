import { type Card, parseCard, parseCardValue } from "./fits-card.ts";

export const FITS_CARD_BYTES = 80;
export const FITS_BLOCK_BYTES = 2880;

/** One header, parsed. */
export interface FitsHeader {
  /** First card of each keyword; the standard leaves repeats open, and readers in use take the first. */
  cards: Map<string, Card>;
  /** Keywords that stand in the header more than once with differing values. */
  conflicts: Set<string>;
  /** Sentences on what is against the standard but can be read. */
  warnings: string[];
}

/**
 * Cards hold ASCII by the standard; what is beyond is read as UTF-8 where it is that, else made visible as such.
 * Control characters would reach pages and terminals, so they are replaced as well.
 */
function decodeCard(bytes: Uint8Array): { text: string; ascii: boolean } {
  let ascii = true;
  let text = "";
  for (const byte of bytes) {
    if (byte < 0x20 || byte > 0x7e) ascii = false;
    text += String.fromCharCode(byte);
  }
  if (ascii) return { text, ascii };
  return { text: text.replace(/[^\u0020-\u007e]/g, "\ufffd"), ascii };
}

/** The characters beyond ASCII of a string value read as UTF-8, where that is what they are. */
function restoreText(card: Card, bytes: Uint8Array): void {
  const utf8 = new TextDecoder("utf-8").decode(bytes);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to keep out
  if (card.value.kind !== "string" || /[\u0000-\u001f\u007f-\u009f\ufffd]/.test(utf8)) return;
  const start = utf8.indexOf("=") + 1;
  const again = parseCardValue(utf8, start);
  card.value = again.value;
  card.text = again.text;
}

/** Where a string ends with "&" and the next card is CONTINUE, both are one string (FITS Standard 4.0, section 4.2.1.2). */
function continueString(card: Card, text: string): boolean {
  if (card.value.kind !== "string" || !card.value.string.endsWith("&")) return false;
  const more = parseCardValue(text, 8);
  if (more.value.kind !== "string") return false;
  card.value = { kind: "string", string: card.value.string.slice(0, -1) + more.value.string };
  card.text = card.value.string;
  if (more.comment !== "") card.comment = `${card.comment} ${more.comment}`.trim();
  return true;
}

/** True for the card that ends a header. "END" within a comment or as the start of another keyword does not. */
export function isEndCard(bytes: Uint8Array): boolean {
  return bytes[0] === 0x45 && bytes[1] === 0x4e && bytes[2] === 0x44 && bytes.subarray(3, 8).every(isBlank);
}

const isBlank = (byte: number): boolean => byte === 0x20;

/**
 * The cards of one header up to END, `bytes` being a whole number of cards. Never throws: what cannot be read has no
 * value, and whoever needs that value says so.
 */
export function parseFitsHeader(bytes: Uint8Array): FitsHeader {
  const header: FitsHeader = { cards: new Map(), conflicts: new Set(), warnings: [] };
  const lowerCase: string[] = [];
  let nonAscii = false;
  let last: Card | null = null;
  for (let offset = 0; offset + FITS_CARD_BYTES <= bytes.length; offset += FITS_CARD_BYTES) {
    const cardBytes = bytes.subarray(offset, offset + FITS_CARD_BYTES);
    if (isEndCard(cardBytes)) break;
    const { text, ascii } = decodeCard(cardBytes);
    if (last !== null && text.startsWith("CONTINUE") && continueString(last, text)) continue;
    const card = parseCard(text);
    last = card;
    if (!ascii) nonAscii = true;
    if (card === null) continue;
    if (!ascii) restoreText(card, cardBytes);
    if (card.lowerCase) lowerCase.push(card.keyword);
    const earlier = header.cards.get(card.keyword);
    if (earlier === undefined) header.cards.set(card.keyword, card);
    else if (earlier.text !== card.text) header.conflicts.add(card.keyword);
  }
  if (lowerCase.length > 0) {
    header.warnings.push(
      `The header has keywords in lower case, against the standard (${lowerCase.slice(0, 5).join(", ")}); they were read as upper case.`,
    );
  }
  if (nonAscii) {
    header.warnings.push(
      "The header has characters beyond ASCII, against the standard; text from it may be garbled.",
    );
  }
  return header;
}

/** The number of a keyword; null where it is absent, or no number as the standard writes one. */
export function findNumber(header: FitsHeader, keyword: string): number | null {
  const value = header.cards.get(keyword)?.value;
  return value?.kind === "number" ? value.number : null;
}

/** The text of a keyword, trimmed; null where it is absent or empty. */
export function findText(header: FitsHeader, keyword: string): string | null {
  const text = header.cards.get(keyword)?.text.trim();
  return text === undefined || text === "" ? null : text;
}

/** True where the keyword is there with the logical value T. */
export function isTrue(header: FitsHeader, keyword: string): boolean {
  const value = header.cards.get(keyword)?.value;
  return value?.kind === "logical" && value.logical;
}
