const months = "January|February|March|April|May|June|July|August|September|October|November|December";
/** The space between day and month; looked for as a space, as digits are most of a page. */
const space = new RegExp(` (?<=\\b\\d{1,2} )(?=(?:${months}) \\d{4}\\b)`, "g");
/** Records stand word for word, and scripts are no text. */
const wordForWord = /(<pre\b.*?<\/pre>|<script\b.*?<\/script>)/s;

/** A built page in which a line never ends between a day and its month: "3 October 2026" breaks before the year at most. */
export function keepDates(html: string): string {
  return html
    .split(wordForWord)
    .map((part, k) => (k % 2 === 1 ? part : part.replace(space, "\u00a0")))
    .join("");
}
