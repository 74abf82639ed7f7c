/** Address at which open pages wait for news, and of the script that does so. */
export const newsPath = "/.live";
export const scriptPath = "/.live.js";

/**
 * The live view's own script. It speaks to no other host, and writes what is wrong as plain text into a panel over the
 * page; styles are set one by one, as the pages' content policy asks.
 */
export const liveScript = `(() => {
  let panel = null;
  const show = (text) => {
    panel?.remove();
    panel = document.createElement("pre");
    panel.id = "live-faults";
    panel.setAttribute("role", "alert");
    panel.textContent = "The site stays as it was until this is mended:\\n\\n" + text;
    const look = { position: "fixed", inset: "auto 0 0 0", maxHeight: "70vh", overflow: "auto", margin: "0", padding: "1rem",
      background: "#1b1b1b", color: "#ffffff", font: "14px/1.45 monospace", whiteSpace: "pre-wrap", zIndex: "1000" };
    Object.assign(panel.style, look);
    document.body.append(panel);
  };
  const news = new EventSource("${newsPath}");
  news.addEventListener("built", () => location.reload());
  news.addEventListener("faults", (event) => show(JSON.parse(event.data)));
})();
`;

/** A page as the live view shows it: with the script that hears of news, as the page's own content policy allows. */
export function makeLivePage(html: string): string {
  return html.replace(/<\/body>/, `<script src="${scriptPath}"></script>\n</body>`);
}

/** What stands in for a page that has not been built yet. */
export const waitingPage = makeLivePage(
  '<!DOCTYPE html>\n<html lang="en">\n<head><meta charset="utf-8"><title>Not built yet</title></head>\n<body><p>This page is not built yet. It shows as soon as the records are without a fault.</p></body>\n</html>\n',
);
