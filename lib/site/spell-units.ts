/** Sentences of the results keep to plain signs ("34 um", "isn't"); the page writes them as readers know them. */
export function spellUnits(text: string): string {
  return text
    .replace(/(\d) um\/mm2\b/g, "$1\u00a0µm/mm²")
    .replace(/(\d) um\b/g, "$1\u00a0µm")
    .replace(/(\d) (mm|px|%|s|min)(?!\w)/g, "$1\u00a0$2")
    .replace(/(\d) arcsec\b(?!\/)/g, "$1″")
    .replaceAll("'", "’");
}
