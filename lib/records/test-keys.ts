import { FILTER_KEYS } from "./filter-keys.ts";
import { type KeyMeanings, nestMeanings } from "./key-meaning.ts";
import { GLASS_KEYS } from "./part-keys.ts";
import { describeColumns } from "./star-table-columns.ts";

const frameList = "a list of file paths or patterns, relative to this file, with forward slashes";
const framePath = "a path or pattern of files, with forward slashes; no web address, no control characters";
const csvPath = "the path of a CSV file inside the content folder, relative to this file";

/** test.yaml: one night's test in one state of the train. */
export const TEST_KEYS: KeyMeanings = {
  date: {
    meaning: "The evening's date, also for exposures after midnight.",
    allowed: "a date of the calendar as year-month-day",
    example: "2026-10-03",
  },
  frames: {
    meaning: "Star frames of one pointing, in focus, as the camera wrote them.",
    allowed: frameList,
    example: "[frames/field-*.fits]",
    leftOut: "no star frames",
  },
  "frames[]": { meaning: "One file or pattern.", allowed: framePath, example: "frames/field-*.fits" },
  focusOffsetUm: {
    meaning:
      "A deliberate, known distance out of focus: plus where the sensor was moved away from the telescope. One number for all frames, or a list with one for each.",
    unit: "um",
    range: [-20000, 20000],
    allowed: "a number from -20000 to 20000 um, or a list with one for each frame",
    example: "0",
    leftOut: "0, in focus",
  },
  "focusOffsetUm[]": { meaning: "One frame's offset.", unit: "um", range: [-20000, 20000], example: "0" },
  flats: {
    meaning:
      "Flat frames, for the fall-off of light: three or more of an evenly lit surface or the twilight sky. A test may have these alone.",
    allowed: frameList,
    example: "[frames/flat-*.fits]",
    leftOut: "no flats",
  },
  "flats[]": { meaning: "One file or pattern.", allowed: framePath, example: "frames/flat-*.fits" },
  bias: {
    meaning:
      "Bias frames, or darks of the flats' exposure time: taken off the flats. Two or more also tell the read noise.",
    allowed: frameList,
    example: "[frames/bias-*.fits]",
    leftOut: "no bias frames; flats then need camera.biasAdu in train.yaml, or a PEDESTAL in their headers",
  },
  "bias[]": { meaning: "One file or pattern.", allowed: framePath, example: "frames/bias-*.fits" },
  sweep: {
    meaning: "Frames taken through focus, one at each position of the focuser.",
    allowed: "a mapping with frames, positions and umPerStep",
    example: "{ frames: [frames/sweep-*.fits], positions: header:FOCUSPOS, umPerStep: 1.2 }",
    leftOut: "no sweep",
  },
  "sweep.frames": { meaning: "The sweep's frames.", allowed: frameList, example: "[frames/sweep-*.fits]" },
  "sweep.frames[]": { meaning: "One file or pattern.", allowed: framePath, example: "frames/sweep-*.fits" },
  "sweep.positions": {
    meaning:
      "Where the focuser stood: the header keyword that says it, or a list with one position for each frame.",
    allowed:
      "header: and a keyword, for instance header:FOCUSPOS, or a list of at least three different numbers",
    example: "header:FOCUSPOS",
  },
  "sweep.positions[]": {
    meaning: "One frame's focuser position, in steps.",
    range: [-10000000, 10000000],
    example: "12040",
  },
  "sweep.umPerStep": {
    meaning: "How far one step moves the sensor; minus where higher positions move it towards the telescope.",
    unit: "um",
    range: [-1000, 1000],
    allowed: "a number from -1000 to 1000 um, not 0",
    example: "1.2",
  },
  spacersMm: {
    meaning: "Spacers and shims that were in that night; replaces the list in the train's stack.",
    allowed: "a list of thicknesses from 0.01 to 150 mm, for instance [1.0, 0.3]; [] for none",
    example: "[1.0, 0.3]",
    leftOut: "as in train.yaml",
  },
  "spacersMm[]": {
    meaning: "Thickness of one spacer or shim.",
    unit: "mm",
    range: [0.01, 150],
    example: "1.0",
  },
  filter: {
    meaning: "The filter used; or the id of one in content/parts.",
    allowed: "a mapping with name, or the id of a filter in content/parts",
    example: "{ name: clear, glass: { thicknessMm: 2.0, index: 1.517 } }",
    leftOut: "not stated",
  },
  ...nestMeanings("filter", FILTER_KEYS),
  ...nestMeanings("filter.glass", GLASS_KEYS),
  cameraAngleDeg: {
    meaning:
      "How the camera was turned on the tube, counter-clockwise seen from behind; any fixed zero will do.",
    unit: "deg",
    range: [-360, 360],
    example: "0",
    leftOut: "not known",
  },
  altitudeDeg: {
    meaning: "Height of the field above the horizon, or the header keyword that says it.",
    unit: "deg",
    range: [0, 90],
    allowed: "a number from 0 to 90 deg, or header: and a keyword, for instance header:OBJCTALT",
    example: "62",
    leftOut: "not known",
  },
  zenithAngleDeg: {
    meaning:
      "Direction towards the zenith on the displayed frame, counter-clockwise from the right; tells what the air does to colours from what the optics do.",
    unit: "deg",
    range: [-360, 360],
    example: "78",
    leftOut: "not known: the air's shift is compared by its size only",
  },
  edge: {
    meaning:
      "Frames of the Moon's bright limb, short exposures that do not saturate, for colour fringes at an edge. The Moon only: never point a telescope near the Sun.",
    allowed: "a mapping with frames",
    example: "{ frames: [frames/moon-*.fits] }",
    leftOut: "no edge",
  },
  "edge.frames": { meaning: "The edge's frames.", allowed: frameList, example: "[frames/moon-*.fits]" },
  "edge.frames[]": { meaning: "One file or pattern.", allowed: framePath, example: "frames/moon-*.fits" },
  starTable: {
    meaning: "A table of stars measured elsewhere, instead of frames.",
    allowed: "a mapping with file, columns and units",
    example: "{ file: stars.csv, columns: { x: X, y: Y, fwhm: W }, units: { x: px, y: px, fwhm: px } }",
    leftOut: "stars are measured from the frames",
  },
  "starTable.file": { meaning: "The table.", allowed: csvPath, example: "stars.csv" },
  "starTable.columns": {
    meaning:
      "Which column of the table holds what: our word, then the heading in the table. Positions in px count from 1 at the lower left pixel as displayed, in mm and um from the sensor's centre; y upwards.",
    allowed: `a mapping from ${describeColumns()} to headings; x and y are needed, and a width`,
    example: "{ x: X, y: Y, fwhmMajor: W1, fwhmMinor: W2, angle: PA }",
  },
  "starTable.units": {
    meaning: "The unit of each column that has one.",
    allowed: "a mapping from the same words to px, um, mm, arcsec, deg, rad, ADU or e-",
    example: "{ x: px, y: px, fwhmMajor: px, fwhmMinor: px, angle: deg }",
    leftOut: "px for positions and widths, deg for angles",
  },
  guiding: {
    meaning:
      "The guider's log: how far the guide star wandered, and whether the mount explains stars that are drawn out.",
    allowed: "a mapping with file",
    example: "{ file: guiding.csv }",
    leftOut: "none",
  },
  "guiding.file": {
    meaning:
      "CSV with the columns time_s, ra_arcsec and dec_arcsec: seconds, and the guide star's error on the sky. Others may stand beside them; an empty cell says that the star was lost.",
    allowed: csvPath,
    example: "guiding.csv",
  },
  wind: {
    meaning: "The wind's log: whether the guiding error grew with the wind.",
    allowed: "a mapping with file",
    example: "{ file: wind.csv }",
    leftOut: "none",
  },
  "wind.file": {
    meaning: "CSV with the columns time_s, counted from the same moment as the guider's, and speed_m_s.",
    allowed: csvPath,
    example: "wind.csv",
  },
  conditions: {
    meaning: "What else may matter, under names of your own: target, moon, ground, temperatureC, seeingNote.",
    allowed: "a mapping of at most 40 names to text (up to 500 characters) or numbers",
    example: "{ target: Lyra field, moon: full, temperatureC: 4 }",
    leftOut: "nothing noted",
  },
  notes: {
    meaning: "Your own words about the night, in Markdown.",
    allowed: "text of at most 20000 characters",
    example: '"The dew heater failed after midnight."',
    leftOut: "none",
  },
};
