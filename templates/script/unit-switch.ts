export const units = ["px", "um", "arcsec"] as const;
export type Unit = (typeof units)[number];

/** What the switch can be set to: one unit, or every column of the tables side by side as the page is built. */
export type UnitChoice = Unit | "all";

/** Unit of pictures and charts while the tables show all. */
const pictureUnit: Unit = "um";
const storageKey = "rig-report-unit";

/** The unit that pictures and charts are read in, and a way to hear when it changes. */
export interface UnitState {
  current: () => Unit;
  onChange: (listener: (unit: Unit) => void) => void;
}

function isChoice(value: unknown): value is UnitChoice {
  return value === "all" || units.some((unit) => unit === value);
}

/** Storage may be missing or refused, as on pages opened from disk; the choice then holds for this page only. */
function readStored(): UnitChoice | null {
  try {
    const stored = localStorage.getItem(storageKey);
    return isChoice(stored) ? stored : null;
  } catch {
    return null;
  }
}

function writeStored(choice: UnitChoice): void {
  try {
    localStorage.setItem(storageKey, choice);
  } catch {
    // Nothing depends on it.
  }
}

/**
 * Shows the page in a unit. A `[data-unit]` cell or group of a picture belongs to one unit and is shown or hidden; an
 * element with `data-unit-px`, `data-unit-um` and `data-unit-arcsec` has its text replaced.
 */
export function showUnit(root: Document, choice: UnitChoice): void {
  const picture = choice === "all" ? pictureUnit : choice;
  root.documentElement.setAttribute("data-current-unit", choice);
  for (const element of root.querySelectorAll("[data-unit]")) {
    const unit = element.getAttribute("data-unit");
    if (element.namespaceURI === "http://www.w3.org/2000/svg") {
      if (unit === picture) element.removeAttribute("display");
      else element.setAttribute("display", "none");
    } else {
      element.toggleAttribute("hidden", choice !== "all" && unit !== choice);
    }
  }
  for (const element of root.querySelectorAll("[data-unit-px][data-unit-um][data-unit-arcsec]")) {
    element.textContent = element.getAttribute(`data-unit-${picture}`);
  }
}

/**
 * Brings every `[data-unit-switch]` group of radio buttons to life and shows the page in the reader's unit, the one
 * chosen before where it is remembered. Without such a group the page stays as it was built.
 */
export function addUnitSwitch(root: Document): UnitState {
  const listeners: ((unit: Unit) => void)[] = [];
  const groups = [...root.querySelectorAll<HTMLElement>("[data-unit-switch]")];
  const inputs = groups.flatMap((group) => [
    ...group.querySelectorAll<HTMLInputElement>("input[type='radio']"),
  ]);
  let choice: UnitChoice = "all";
  const choose = (next: UnitChoice) => {
    choice = next;
    for (const input of inputs) input.checked = input.value === next;
    showUnit(root, next);
    for (const listener of listeners) listener(next === "all" ? pictureUnit : next);
  };
  for (const input of inputs) {
    input.addEventListener("change", () => {
      if (!input.checked || !isChoice(input.value)) return;
      writeStored(input.value);
      choose(input.value);
    });
  }
  for (const group of groups) group.classList.add("alive");
  const stored = readStored();
  if (inputs.some((input) => input.value === stored) && stored !== null) choose(stored);
  return {
    current: () => (choice === "all" ? pictureUnit : choice),
    onChange: (listener) => {
      listeners.push(listener);
    },
  };
}
