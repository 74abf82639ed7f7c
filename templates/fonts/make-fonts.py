"""Cuts the typefaces of the pages down to what pages need; see README.md in this folder."""

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

# Letters of Western European languages, figures, and the marks that pages and figures print.
characters = (
    "".join(map(chr, range(0x20, 0x7F)))
    + "".join(map(chr, range(0xC0, 0x100)))
    + "\u00a0¡£§©«°±²³´µ¶·¹»¼½¾¿×÷ŒœŠšŽžŸıˆ˜–—‘’‚“”„†‡•…′″‹›⁄€™−√∞≈≠≤≥←↑→↓"
)
# Kerning, ligatures, forms of a language; lining and tabular figures, which pages ask for by name. Marks are placed by no
# rule here: letters with an accent are drawn whole, and none of the characters is a mark to be put on another.
features = ["kern", "liga", "locl", "lnum", "tnum"]

fonts = [
    ("source-serif-4/files/source-serif-4-latin-wght-normal.woff2", "report-serif.woff2", "Report Serif", (400, 600)),
    ("source-serif-4/files/source-serif-4-latin-wght-italic.woff2", "report-serif-italic.woff2", "Report Serif", (400, 400)),
    ("source-sans-3/files/source-sans-3-latin-wght-normal.woff2", "report-sans.woff2", "Report Sans", (400, 600)),
]

packages, here = Path(sys.argv[1]), Path(__file__).parent
for source, target, family, (low, high) in fonts:
    font = TTFont(packages / source, recalcTimestamp=False)
    options = subset.Options(layout_features=features, hinting=False, name_IDs=[0, 1, 2, 4, 6, 13, 14], notdef_outline=True)
    cutter = subset.Subsetter(options)
    cutter.populate(text=characters)
    cutter.subset(font)
    instancer.instantiateVariableFont(font, {"wght": low if low == high else (low, high)}, inplace=True)
    # The licence reserves the typefaces' own name for the originals.
    for record in list(font["name"].names):
        if record.nameID in (1, 4):
            font["name"].setName(family, record.nameID, record.platformID, record.platEncID, record.langID)
        elif record.nameID == 6:
            font["name"].setName(family.replace(" ", ""), 6, record.platformID, record.platEncID, record.langID)
    font.flavor = "woff2"
    font.save(here / target, reorderTables=False)
    print(target, (here / target).stat().st_size)

# The cards that stand for a report elsewhere are drawn from outlines, so that they do not depend on a machine's fonts.
import json  # noqa: E402

from fontTools.pens.svgPathPen import SVGPathPen  # noqa: E402

font = TTFont(packages / fonts[0][0])
font = instancer.instantiateVariableFont(font, {"wght": 520})
names, glyphs = font.getBestCmap(), font.getGlyphSet()
outlines = {}
for character in sorted(set(characters)):
    name = names.get(ord(character))
    if name is None:
        continue
    pen = SVGPathPen(glyphs, ntos=lambda value: str(round(value)))
    glyphs[name].draw(pen)
    outlines[character] = [round(glyphs[name].width), pen.getCommands()]
table = {"unitsPerEm": font["head"].unitsPerEm, "glyphs": outlines}
(here / "report-serif-outlines.json").write_text(json.dumps(table, ensure_ascii=False, separators=(",", ":")) + "\n")
