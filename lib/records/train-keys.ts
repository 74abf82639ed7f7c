import { DEFAULT_TOLERANCES } from "./defaults.ts";
import { DISCLOSURE_KEYS, ITEM_KEYS } from "./equipment-keys.ts";
import { COLOUR_KEYS } from "./filter-keys.ts";
import { type KeyMeanings, nestMeanings } from "./key-meaning.ts";
import {
  CAMERA_KEYS,
  CORRECTOR_KEYS,
  GLASS_KEYS,
  OFFSET_KEYS,
  RING_KEYS,
  TELESCOPE_KEYS,
} from "./part-keys.ts";

export const TOLERANCE_KEYS: KeyMeanings = {
  cornerFwhmOverCentre: {
    meaning: "Widest corner stars allowed, as a multiple of the width at the centre.",
    range: [1, 10],
    example: "1.25",
    leftOut: `${DEFAULT_TOLERANCES.cornerFwhmOverCentre}`,
  },
  cornerEllipticity: {
    meaning: "Most elongated corner stars allowed: 1 minus short axis over long axis, 0 is round.",
    range: [0.005, 0.95],
    example: "0.2",
    leftOut: `${DEFAULT_TOLERANCES.cornerEllipticity}`,
  },
  cornerLightPercent: {
    meaning: "Least light allowed in the corners, of the brightest point of the flat.",
    unit: "percent",
    range: [1, 100],
    example: "60",
    leftOut: `${DEFAULT_TOLERANCES.cornerLightPercent}`,
  },
  tiltAcrossUm: {
    meaning: "Largest tilt allowed, as the difference of focus across the sensor.",
    unit: "um",
    range: [1, 5000],
    example: "40",
    leftOut: `${DEFAULT_TOLERANCES.tiltAcrossUm}`,
  },
  spacingErrorMm: {
    meaning: "Largest spacing error allowed, to either side.",
    unit: "mm",
    range: [0.005, 20],
    example: "0.2",
    leftOut: `${DEFAULT_TOLERANCES.spacingErrorMm}`,
  },
};

const stackKeys: KeyMeanings = {
  ...RING_KEYS,
  spacersMm: {
    meaning:
      "The one place of the stack where spacers and shims go, each by its thickness; [] where none is in.",
    allowed: "a list of thicknesses from 0.01 to 150 mm, for instance [1.0, 0.3]",
    example: "[1.0]",
  },
  "spacersMm[]": {
    meaning: "Thickness of one spacer or shim.",
    unit: "mm",
    range: [0.01, 150],
    example: "1.0",
  },
  ...nestMeanings("glass", GLASS_KEYS),
  ...nestMeanings("offsetMm", OFFSET_KEYS),
};

/** train.yaml: one optical train, its parts in order from the telescope to the sensor. */
export const TRAIN_KEYS: KeyMeanings = {
  name: {
    meaning: "The train as the page's title shall call it.",
    allowed: "text of 1 to 120 characters",
    example: "Tarnlight 115 with reducer",
  },
  telescope: {
    meaning: "The telescope; or the id of one in content/parts.",
    allowed: "a mapping with name, apertureMm and focalLengthMm, or the id of a telescope in content/parts",
    example: "{ name: Tarnlight 115, apertureMm: 115, focalLengthMm: 805 }",
  },
  ...nestMeanings("telescope", TELESCOPE_KEYS),
  corrector: {
    meaning: "Reducer, flattener or extender; or the id of one in content/parts.",
    allowed: "a mapping with name, kind, factor and backFocusMm, or the id of a corrector in content/parts",
    example: "{ name: Tarnlight R79, kind: reducer, factor: 0.79, backFocusMm: 55 }",
    leftOut: "no corrector",
  },
  ...nestMeanings("corrector", CORRECTOR_KEYS),
  stack: {
    meaning:
      "Everything between the corrector's rear shoulder (without one: the focuser) and the camera's flange, in order from the telescope to the camera.",
    allowed: "a list of parts, spacers and ids of rings in content/parts",
    example: "[{ part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }]",
    leftOut: "nothing in between",
  },
  "stack[]": {
    meaning: "A part with its length, the place for spacers, or the id of a ring in content/parts.",
    allowed:
      "a mapping with part and lengthMm, a mapping with spacersMm, or the id of a ring in content/parts",
    example: "{ part: M54 ring, lengthMm: 16.5, clearDiameterMm: 50.5 }",
  },
  ...nestMeanings("stack[]", stackKeys),
  camera: {
    meaning: "The camera; or the id of one in content/parts.",
    allowed:
      "a mapping with name, widthPx, heightPx, pixelPitchUm and flangeMm, or the id of a camera in content/parts",
    example: "{ name: Heron 26, widthPx: 6248, heightPx: 4176, pixelPitchUm: 3.76, flangeMm: 17.5 }",
  },
  ...nestMeanings("camera", CAMERA_KEYS),
  ...nestMeanings("camera.windowGlass", GLASS_KEYS),
  ...nestMeanings("camera.coloursNm", COLOUR_KEYS),
  spacersOwnedMm: {
    meaning: "Spacers and shims at hand; the next spacer is proposed from these.",
    allowed: "a list of thicknesses from 0.01 to 150 mm, for instance [0.1, 0.2, 0.5]",
    example: "[0.1, 0.2, 0.3, 0.5, 1.0]",
    leftOut: "none",
  },
  "spacersOwnedMm[]": {
    meaning: "Thickness of one spacer or shim.",
    unit: "mm",
    range: [0.01, 150],
    example: "0.1",
  },
  adjuster: {
    meaning:
      "What tips the camera or the corrector, where the train has it: screws, or places under a flange where shims go.",
    allowed: "a mapping with screws and pitchMm, or one with shims and, if wanted, thicknessesMm",
    example: "{ screws: [{ angleDeg: 90, radiusMm: 35 }, ...], pitchMm: 0.5 }",
    leftOut: "none: shims under the camera's flange are proposed, at three places 24 mm from the axis",
  },
  "adjuster.screws": {
    meaning: "The three or four screws.",
    allowed: "a list of three or four mappings with angleDeg and radiusMm",
    example:
      "[{ angleDeg: 90, radiusMm: 35 }, { angleDeg: 210, radiusMm: 35 }, { angleDeg: 330, radiusMm: 35 }]",
  },
  "adjuster.screws[]": {
    meaning: "One screw.",
    allowed: "a mapping with angleDeg and radiusMm",
    example: "{ angleDeg: 90, radiusMm: 35 }",
  },
  "adjuster.screws[].angleDeg": {
    meaning: "Where the screw sits: counter-clockwise from the right of the displayed frame, 90 is up.",
    unit: "deg",
    range: [-360, 360],
    example: "90",
  },
  "adjuster.screws[].radiusMm": {
    meaning: "Distance of the screw from the optical axis.",
    unit: "mm",
    range: [5, 500],
    example: "35",
  },
  "adjuster.pitchMm": {
    meaning: "How far a full turn of a screw moves it.",
    unit: "mm",
    range: [0.05, 5],
    example: "0.5",
  },
  "adjuster.shims": {
    meaning: "Places under a flange where shims can go, in place of screws: its bolts, or points of its rim.",
    allowed: "a list of three to eight mappings with angleDeg and radiusMm",
    example:
      "[{ angleDeg: 90, radiusMm: 29 }, { angleDeg: 210, radiusMm: 29 }, { angleDeg: 330, radiusMm: 29 }]",
  },
  "adjuster.shims[]": {
    meaning: "One place for shims.",
    allowed: "a mapping with angleDeg and radiusMm",
    example: "{ angleDeg: 90, radiusMm: 29 }",
  },
  "adjuster.shims[].angleDeg": {
    meaning: "Where the place lies: counter-clockwise from the right of the displayed frame, 90 is up.",
    unit: "deg",
    range: [-360, 360],
    example: "90",
  },
  "adjuster.shims[].radiusMm": {
    meaning: "Distance of the place from the optical axis.",
    unit: "mm",
    range: [5, 500],
    example: "29",
  },
  "adjuster.thicknessesMm": {
    meaning:
      "Thicknesses of the shims at hand; up to three may lie on one another, as many of each as it takes.",
    allowed: "a list of thicknesses",
    example: "[0.02, 0.05, 0.1]",
    leftOut: "any whole hundredth of a millimetre",
  },
  "adjuster.thicknessesMm[]": {
    meaning: "Thickness of a shim at hand.",
    unit: "mm",
    range: [0.005, 2],
    example: "0.05",
  },
  tolerances: {
    meaning: "What this train must keep to for a pass; goes before the tolerances of site.yaml.",
    allowed: `a mapping with ${Object.keys(TOLERANCE_KEYS).join(", ")}`,
    example: "{ cornerEllipticity: 0.2 }",
    leftOut: "those of site.yaml, else those built in",
  },
  ...nestMeanings("tolerances", TOLERANCE_KEYS),
  equipment: {
    meaning: "What was used beside the optics: mount, guider, dew heater.",
    allowed: "a list of mappings with item, and whatever else is known of it",
    example: "[{ item: mount, name: Fellside oak pier }]",
    leftOut: "none",
  },
  "equipment[]": {
    meaning: "One thing used.",
    allowed: "a mapping with item, and whatever else is known of it",
    example: "{ item: mount, name: Fellside oak pier }",
  },
  ...nestMeanings("equipment[]", ITEM_KEYS),
  disclosure: {
    meaning: "How the equipment came to you, and who had a say in your text.",
    allowed: `a mapping with ${Object.keys(DISCLOSURE_KEYS)
      .filter((key) => !key.endsWith("[]"))
      .join(", ")}`,
    example: "{ obtained: bought, say: nobody }",
    leftOut: "the page says that nothing is disclosed",
  },
  ...nestMeanings("disclosure", DISCLOSURE_KEYS),
};
