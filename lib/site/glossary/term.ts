/** A word of the trade, what it means, and how it is measured here. */
export interface Term {
  /** End of its anchor: "term-fwhm". */
  id: string;
  /** As the glossary lists it. */
  word: string;
  /** Other ways in which pages write it; plurals in "s" are found by themselves. */
  also?: readonly string[];
  /** One sentence, for who points at the word. */
  meaning: string;
  /** How the number is got; absent for words that name no measured number. */
  measured?: string;
  /** Section of the methods page that tells more. */
  more?: string;
}
