/** Sentences of the results keep to plain letters ("34 um"); the page writes the unit as readers know it. */
export function spellUnits(text: string): string {
  return text.replace(/(\d) um\b/g, "$1\u00a0µm").replace(/(\d) mm\b/g, "$1\u00a0mm");
}
