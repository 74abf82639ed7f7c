const entities: Record<string, string> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** Text made harmless in HTML text and in quoted attributes. */
export function escapeHtml(text: string): string {
  return text.replace(/[&<>"']/g, (sign) => entities[sign] ?? sign);
}

/** JSON that can stand inside a script element: no closing tag and no comment can be formed. */
export function escapeJson(value: unknown): string {
  return JSON.stringify(value).replace(/[<>&\u2028\u2029]/g, (sign) => {
    return `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`;
  });
}

/** The text, cut with an ellipsis to at most so many signs. */
export function cutText(text: string, most: number): string {
  const signs = [...text];
  return signs.length > most ? `${signs.slice(0, most - 1).join("")}…` : text;
}

const longestSegment = 80;

/** A path's segments as safe file names: no parent, no hidden file, no sign a file system or address would read. */
export function makeSafePath(path: string): string {
  const segments = path
    .split(/[\\/]+/)
    .map((segment) =>
      segment
        .replace(/[^A-Za-z0-9._-]/g, "-")
        .replace(/^\.+/, "")
        .slice(-longestSegment),
    )
    .filter((segment) => segment !== "");
  return segments.length === 0 ? "file" : segments.join("/");
}
