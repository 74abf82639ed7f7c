/** A cut-out as the list of files below its figure names it. */
interface CutOut {
  /** Picture for the eye. */
  seen: string;
  /** As measured, 16 bit. */
  raw: string;
  words: string;
}

function readList(section: ParentNode): CutOut[] {
  return [...section.querySelectorAll<HTMLElement>("[data-cut-out]")].flatMap((line) => {
    const [raw, seen] = [...line.querySelectorAll("a")].map((link) => link.getAttribute("href"));
    const words = line.querySelector("span")?.textContent ?? "";
    return raw && seen ? [{ raw, seen, words }] : [];
  });
}

function make<K extends keyof HTMLElementTagNameMap>(
  root: Document,
  name: K,
  text = "",
  className = "",
): HTMLElementTagNameMap[K] {
  const element = root.createElement(name);
  element.textContent = text;
  if (className !== "") element.className = className;
  return element;
}

/**
 * Enlarges cut-outs in a dialog: by a click on one in its figure, or from a button below the figure, with arrow keys and
 * buttons from one to the next. The list of files stands below the figure in any case.
 */
export function addCutOuts(root: Document): void {
  for (const figure of root.querySelectorAll<HTMLElement>("figure[id^='fig-spokes']")) {
    const test = [...root.querySelectorAll(".cropfiles")].find(
      (list) => list.getAttribute("data-figure") === figure.id,
    );
    const cutOuts = test === undefined ? [] : readList(test);
    const picture = figure.querySelector<HTMLElement>(".picture");
    if (cutOuts.length > 0 && picture !== null) addDialog(root, picture, cutOuts);
  }
}

function addDialog(root: Document, picture: HTMLElement, cutOuts: readonly CutOut[]): void {
  const dialog = make(root, "dialog", "", "cut-out");
  const image = make(root, "img");
  const words = make(root, "p");
  words.setAttribute("aria-live", "polite");
  const link = make(root, "a", "The cut-out as measured");
  link.href = cutOuts[0].raw;
  const buttons = ["Back", "On", "Close"].map((text) => {
    const button = make(root, "button", text, "read-values");
    button.type = "button";
    return button;
  });
  const row = make(root, "p", "", "buttons");
  row.append(...buttons);
  const file = make(root, "p");
  file.append(link);
  dialog.append(image, words, file, row);
  dialog.setAttribute("aria-label", "A star’s cut-out, enlarged");

  let at = 0;
  const show = (index: number) => {
    at = (index + cutOuts.length) % cutOuts.length;
    const { seen, raw, words: told } = cutOuts[at];
    image.src = seen;
    image.alt = `Star ${told}`;
    words.textContent = `${at + 1} of ${cutOuts.length}: ${told}`;
    link.href = raw;
  };
  const open = (index: number) => {
    show(index);
    if (!dialog.open) dialog.showModal();
  };
  buttons[0].addEventListener("click", () => show(at - 1));
  buttons[1].addEventListener("click", () => show(at + 1));
  buttons[2].addEventListener("click", () => dialog.close());
  dialog.addEventListener("keydown", (event) => {
    if (event.key === "ArrowLeft") show(at - 1);
    else if (event.key === "ArrowRight") show(at + 1);
  });
  for (const drawn of picture.querySelectorAll("image")) {
    const index = cutOuts.findIndex(({ seen }) => seen === drawn.getAttribute("href"));
    if (index < 0) continue;
    drawn.classList.add("enlarges");
    drawn.addEventListener("click", () => open(index));
  }
  const button = make(root, "button", "Enlarge the cut-outs", "read-values");
  button.type = "button";
  button.addEventListener("click", () => open(0));
  picture.after(button, dialog);
}
