import { BOROSILICATE_CROWN_INDEX } from "./defaults.ts";
import { bodyLengthKey, EQUIPMENT_KEYS, FOCUSER_KEYS } from "./equipment-keys.ts";
import { type KeyMeanings, nestMeanings } from "./key-meaning.ts";

// Ranges are wide on purpose: they are to catch a wrong unit or a slipped point, not an unusual instrument.
// Chosen from the sizes that amateur equipment comes in; common practice, no source.

/** What a name of a part may be. */
export const nameLength = "text of 1 to 120 characters";

export const GLASS_KEYS: KeyMeanings = {
  thicknessMm: {
    meaning: "Thickness of the glass plate.",
    unit: "mm",
    range: [0, 30],
    example: "2.0",
  },
  index: {
    meaning: "Refractive index of the glass at the wavelength used.",
    range: [1.3, 2.6],
    example: "1.517",
    leftOut: `${BOROSILICATE_CROWN_INDEX}, the common borosilicate crown`,
  },
};

export const TELESCOPE_KEYS: KeyMeanings = {
  name: {
    meaning: "The telescope as the page shall call it.",
    allowed: nameLength,
    example: "Tarnlight 115",
  },
  apertureMm: {
    meaning: "Clear aperture of the telescope.",
    unit: "mm",
    range: [10, 3000],
    example: "115",
  },
  focalLengthMm: {
    meaning: "Focal length of the telescope alone, without reducer or extender.",
    unit: "mm",
    range: [30, 30000],
    example: "805",
  },
  obstructionMm: {
    meaning: "Diameter of the central obstruction; 0 for a refractor.",
    unit: "mm",
    range: [0, 2000],
    example: "0",
    leftOut: "0, no obstruction",
  },
  ...bodyLengthKey(
    "Length of the tube, focused, from its front end to where the corrector or the first ring sits.",
    "790",
  ),
  focuser: {
    meaning: "What the focuser does.",
    allowed: "a mapping with travelMm, clearDiameterMm, fineRatio, loadG and rotator, each as far as known",
    example: "{ travelMm: 75, fineRatio: 10, rotator: true }",
    leftOut: "not stated",
  },
  ...nestMeanings("focuser", FOCUSER_KEYS),
  ...EQUIPMENT_KEYS,
};

export const CORRECTOR_KEYS: KeyMeanings = {
  name: {
    meaning: "The reducer, flattener or extender as the page shall call it.",
    allowed: nameLength,
    example: "Tarnlight R79",
  },
  kind: {
    meaning:
      "What it does: a reducer shortens the focal length, an extender lengthens it, a flattener keeps it.",
    words: ["reducer", "flattener", "extender"],
    example: "reducer",
  },
  factor: {
    meaning:
      "Focal length with it over focal length without: below 1 for a reducer, above 1 for an extender, about 1 for a flattener.",
    range: [0.2, 8],
    example: "0.79",
    leftOut: "1 for a flattener; needed for the others",
  },
  backFocusMm: {
    meaning: "Distance its maker asks for from its rear shoulder to the sensor, in air.",
    unit: "mm",
    range: [5, 1000],
    example: "55",
  },
  radialMeans: {
    meaning:
      "What it means for this corrector when corner stars point away from the field's centre: the sensor is tooClose or tooFar.",
    words: ["tooClose", "tooFar", "unknown"],
    example: "unknown",
    leftOut: "unknown",
  },
  exitPupilMm: {
    meaning: "Distance of the exit pupil from the sensor, where the maker states it.",
    unit: "mm",
    range: [20, 100000],
    example: "320",
    leftOut: "the light is taken to arrive telecentric, and the page says so",
  },
  ...bodyLengthKey(
    "What it adds to the train's length in front of its shoulder; 0 where it sits in the focuser.",
    "0",
  ),
  ...EQUIPMENT_KEYS,
};

export const RING_KEYS: KeyMeanings = {
  part: {
    meaning: "The ring, drawer, nosepiece or other part as the page shall call it.",
    allowed: nameLength,
    example: "M54 ring",
  },
  lengthMm: {
    meaning:
      "Optical length of the part: what it adds to the distance between its neighbours, threads not counted.",
    unit: "mm",
    range: [0, 1000],
    example: "16.5",
  },
  clearDiameterMm: {
    meaning: "Narrowest free opening over the part's length.",
    unit: "mm",
    range: [5, 400],
    example: "50.5",
    leftOut: "not known: the part is left out of the light path",
  },
  glass: {
    meaning: "The plane glass in this part, a filter for instance.",
    allowed: "a mapping with thicknessMm and index",
    example: "{ thicknessMm: 2.0, index: 1.517 }",
    leftOut: "no glass",
  },
  offsetMm: {
    meaning:
      "How far the part's axis lies off the train's axis, x to the right and y up as the frame is displayed.",
    allowed: "a mapping with x and y",
    example: "{ x: 0.0, y: 0.0 }",
    leftOut: "centred",
  },
  ...EQUIPMENT_KEYS,
};

export const OFFSET_KEYS: KeyMeanings = {
  x: { meaning: "Offset to the right as displayed.", unit: "mm", range: [-30, 30], example: "0.0" },
  y: { meaning: "Offset upwards as displayed.", unit: "mm", range: [-30, 30], example: "0.0" },
};

export const CAMERA_KEYS: KeyMeanings = {
  name: { meaning: "The camera as the page shall call it.", allowed: nameLength, example: "Heron 26" },
  widthPx: {
    meaning: "Width of a full frame.",
    unit: "px",
    range: [16, 60000],
    whole: true,
    example: "6248",
  },
  heightPx: {
    meaning: "Height of a full frame.",
    unit: "px",
    range: [16, 60000],
    whole: true,
    example: "4176",
  },
  pixelPitchUm: {
    meaning: "Distance from one pixel to the next, unbinned.",
    unit: "um",
    range: [0.5, 50],
    example: "3.76",
  },
  flangeMm: {
    meaning: "Distance from the camera's front flange to the sensor.",
    unit: "mm",
    range: [0, 200],
    example: "17.5",
  },
  windowGlass: {
    meaning:
      "Glass before the sensor; thickness 0 where the maker's flange distance has the window counted in already.",
    allowed: "a mapping with thicknessMm and index",
    example: "{ thicknessMm: 0, index: 1.517 }",
    leftOut: "thickness 0",
  },
  cfa: {
    meaning: "Colour-filter pattern as displayed, read from the upper left; none for a mono camera.",
    words: ["none", "RGGB", "BGGR", "GRBG", "GBRG"],
    example: "none",
    leftOut: "what the frames' headers say",
  },
  coloursNm: {
    meaning:
      "Middle of the passbands of the camera's red, green and blue pixels, for a star of middle colour; for what the air does to colours.",
    allowed: "a mapping with R, G and B, each a number from 350 to 1000 nm",
    example: "{ R: 605, G: 535, B: 465 }",
    leftOut: "605, 535 and 465 nm, and the page says so",
  },
  gainElectronsPerAdu: {
    meaning: "Electrons per count at the gain setting used.",
    unit: "e-/ADU",
    range: [0.00001, 10000],
    example: "0.8",
    leftOut: "what the frames' headers say, else estimated",
  },
  readNoiseElectrons: {
    meaning: "Read noise at the gain setting used.",
    unit: "e-",
    range: [0, 500],
    example: "1.6",
    leftOut: "what the frames' headers say, else estimated",
  },
  saturationAdu: {
    meaning: "Count at which the camera stops being linear.",
    unit: "ADU",
    range: [0.01, 4294967295],
    example: "65000",
    leftOut: "found from the frames",
  },
  biasAdu: {
    meaning: "Count of a frame without light.",
    unit: "ADU",
    range: [-100000, 1000000],
    example: "500",
    leftOut: "found from the frames",
  },
  ...bodyLengthKey("Length of the camera from its front flange to its back, plugs not counted.", "92"),
  ...EQUIPMENT_KEYS,
};
