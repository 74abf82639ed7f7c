/** A cut-out as its figure's numbers name it. */
interface CutOut {
  /** Its cell in the sheet, counted from the top from 0. */
  cell: number;
  words: string;
}

/** Columns of the numbers of a figure of cut-outs. */
interface Row {
  halfDiagonal: string;
  radiusMm: string;
  widthPx: string;
  ellipticity: string;
}

function describe({ halfDiagonal, radiusMm, widthPx, ellipticity }: Row): string {
  const round = (text: string, digits: number) => Number(text).toFixed(digits);
  const where =
    halfDiagonal === "centre"
      ? "at the centre"
      : `towards the ${halfDiagonal}, ${round(radiusMm, 1)}\u00a0mm from the centre`;
  return `${where}, ${round(widthPx, 2)}\u00a0px wide, ellipticity ${round(ellipticity, 2)}`;
}

function readRows(figure: HTMLElement): CutOut[] {
  return [...figure.querySelectorAll("table.numbers tbody tr")].flatMap((line) => {
    const cells = [...line.children].map(({ textContent }) => textContent ?? "");
    const [halfDiagonal, radiusMm, , , widthPx, ellipticity, , place] = cells;
    const cell = Number(place) - 1;
    const words = describe({ halfDiagonal, radiusMm, widthPx, ellipticity });
    return Number.isInteger(cell) && cell >= 0 ? [{ cell, words }] : [];
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
 * buttons from one to the next. The figure's numbers and the sheet of all cut-outs stand below the figure in any case.
 */
export function addCutOuts(root: Document): void {
  for (const figure of root.querySelectorAll<HTMLElement>("figure[id^='fig-spokes']")) {
    const picture = figure.querySelector<HTMLElement>(".picture");
    const sheet = figure.querySelector<SVGImageElement>("defs image");
    const cutOuts = readRows(figure);
    if (cutOuts.length > 0 && picture !== null && sheet !== null) addDialog(root, picture, sheet, cutOuts);
  }
}

/** The enlarged picture: a window on the sheet, moved from cell to cell. */
function makeWindow(root: Document, sheet: SVGImageElement): { view: SVGSVGElement; cellPx: number } {
  const view = root.createElementNS("http://www.w3.org/2000/svg", "svg");
  const whole = sheet.cloneNode() as SVGImageElement;
  whole.removeAttribute("id");
  view.setAttribute("role", "img");
  view.append(whole);
  return { view, cellPx: Number(sheet.getAttribute("width")) };
}

/** A clear pane over a window, to be clicked: what the window shows a part of reaches far beyond it. */
function coverWindow(shown: SVGSVGElement): SVGElement {
  const pane = shown.ownerDocument.createElementNS("http://www.w3.org/2000/svg", "rect");
  for (const name of ["x", "y", "width", "height"]) pane.setAttribute(name, shown.getAttribute(name) ?? "0");
  pane.classList.add("enlarges");
  shown.after(pane);
  return pane;
}

function addDialog(
  root: Document,
  picture: HTMLElement,
  sheet: SVGImageElement,
  cutOuts: readonly CutOut[],
): void {
  const dialog = make(root, "dialog", "", "cut-out");
  const { view, cellPx } = makeWindow(root, sheet);
  const words = make(root, "p");
  words.setAttribute("aria-live", "polite");
  const buttons = ["Back", "On", "Close"].map((text) => {
    const button = make(root, "button", text, "read-values");
    button.type = "button";
    return button;
  });
  const row = make(root, "p", "", "buttons");
  row.append(...buttons);
  dialog.append(view, words, row);
  dialog.setAttribute("aria-label", "A star’s cut-out, enlarged");

  let at = 0;
  const show = (index: number) => {
    at = (index + cutOuts.length) % cutOuts.length;
    const { cell, words: told } = cutOuts[at];
    view.setAttribute("viewBox", `0 ${cell * cellPx} ${cellPx} ${cellPx}`);
    view.setAttribute("aria-label", `Star ${told}`);
    words.textContent = `${at + 1} of ${cutOuts.length}: ${told}`;
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
  for (const part of picture.querySelectorAll("use")) {
    const shown = part.ownerSVGElement;
    const index = cutOuts.findIndex(
      ({ cell }) => cell === Math.floor((shown?.viewBox.baseVal.y ?? -1) / cellPx),
    );
    if (shown !== null && index >= 0) coverWindow(shown).addEventListener("click", () => open(index));
  }
  const button = make(root, "button", "Enlarge the cut-outs", "read-values");
  button.type = "button";
  button.addEventListener("click", () => open(0));
  picture.after(button, dialog);
}
