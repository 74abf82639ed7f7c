import type { Term } from "./term.ts";

/** Words about the optics, the parts and what they do to the light. */
export const opticsTerms: readonly Term[] = [
  {
    id: "optical-train",
    word: "optical train",
    meaning: "Everything from the front lens or mirror to the sensor, in one fixed make-up.",
  },
  {
    id: "corrector",
    word: "corrector",
    meaning: "A reducer, flattener or extender between telescope and camera.",
  },
  {
    id: "reducer",
    word: "reducer",
    meaning: "A corrector that shortens the focal length; its factor is below one.",
  },
  {
    id: "flattener",
    word: "flattener",
    meaning: "A corrector that flattens the field and leaves the focal length as it is.",
  },
  { id: "spacer", word: "spacer", meaning: "A ring that sets the distance between corrector and camera." },
  { id: "shim", word: "shim", meaning: "A thin spacer, a few tenths of a millimetre or less." },
  {
    id: "back-focus",
    word: "back focus",
    meaning: "The distance from a corrector’s rear shoulder to the sensor that its maker asks for, in air.",
    measured: "Taken from the record; the shift by glass is added by the program.",
    more: "back-focus",
  },
  {
    id: "glass-shift",
    word: "glass shift",
    also: ["plate shift", "shift by glass"],
    meaning: "A plane glass moves the focus away from the telescope, by about a third of its thickness.",
    measured: "Thickness times one less the inverse of the refractive index, summed over all glass.",
    more: "back-focus",
  },
  {
    id: "spacing-error",
    word: "spacing error",
    meaning:
      "How much longer the parts are than the back focus and its glass ask for; positive: the sensor is too far away.",
    measured: "The sum of the lengths on record less what is required.",
    more: "back-focus",
  },
  {
    id: "flange",
    word: "flange",
    meaning: "The camera’s mounting face; lengths are counted from it to the sensor.",
  },
  {
    id: "tilt",
    word: "tilt",
    meaning:
      "The sensor does not stand square to the light, so opposite corners come to focus at different depths.",
    measured:
      "Difference of best focus between opposite ends of the diagonal, from the shapes of the stars or from a focus sweep.",
    more: "focal-surface",
  },
  {
    id: "curvature",
    word: "curvature",
    meaning: "The surface of best focus is bowed, so centre and corners are not sharp together.",
    measured: "How fast the height of best focus grows with the square of the field radius.",
    more: "focal-surface",
  },
  {
    id: "astigmatism",
    word: "astigmatism",
    meaning:
      "Light along and across the radius comes to focus at different depths, so a star is long one way before focus and the other way behind it.",
    measured: "Half the distance of the two foci, over the square of the field radius.",
    more: "focal-surface",
  },
  {
    id: "focal-surface",
    word: "focal surface",
    also: ["focal plane"],
    meaning: "Where over the sensor the stars come to best focus; seldom flat and never quite level.",
    measured: "Height above the sensor in micrometres, positive towards the telescope.",
    more: "focal-surface",
  },
  {
    id: "focus-sweep",
    word: "focus sweep",
    meaning: "A series of frames through focus, with the focuser’s position of each on record.",
    measured: "Each zone’s width against the position; its least width is that zone’s best focus.",
    more: "focal-surface",
  },
  {
    id: "focal-ratio",
    word: "focal ratio",
    meaning: "Focal length over aperture: f/5 is five times as long as wide.",
  },
  {
    id: "image-scale",
    word: "image scale",
    meaning: "How much sky one pixel covers.",
    measured: "From pixel and focal length on record, or from a plate solution where the frames carry one.",
    more: "sampling",
  },
  {
    id: "airy-disc",
    word: "Airy disc",
    meaning: "The smallest spot that a perfect lens of this focal ratio can make of a star.",
    measured: "Diameter of the first dark ring at 550 nm, or at the filter’s wavelength where on record.",
    more: "sampling",
  },
  {
    id: "depth-of-focus",
    word: "depth of focus",
    meaning: "How far the sensor may be from best focus before diffraction alone shows it.",
    more: "sampling",
  },
  {
    id: "telecentric",
    word: "telecentric",
    meaning: "Light that meets the sensor at the same angle everywhere.",
  },
  {
    id: "flat",
    word: "flat frame",
    also: ["flats"],
    meaning: "An exposure of an evenly lit surface; it shows how light falls off towards the corners.",
    measured: "Zero level off, frames averaged, a smooth map fitted; its brightest point counts as 100 %.",
    more: "light",
  },
  {
    id: "bias-frame",
    word: "bias frame",
    meaning: "The shortest exposure without light: what the camera adds to every frame.",
    more: "light",
  },
  {
    id: "clear-diameter",
    word: "clear diameter",
    meaning: "The width of a ring that light can pass; smaller than the size of its thread.",
    more: "light",
  },
  {
    id: "exit-pupil",
    word: "exit pupil",
    meaning:
      "The image of the aperture as seen from the sensor: where the light of every point of the field seems to come from.",
    more: "light",
  },
  {
    id: "read-noise",
    word: "read noise",
    meaning: "Noise that the camera adds to every pixel when it is read out, in electrons.",
    measured: "Scatter of the difference of two bias frames over the root of two, times the gain.",
    more: "light",
  },
  {
    id: "vignetting",
    word: "vignetting",
    meaning: "Loss of light towards the corners because a ring or lens edge stands in its way.",
  },
  {
    id: "lateral-colour",
    word: "lateral colour",
    meaning:
      "Colours are imaged at slightly different scales, so stars towards the corners get coloured edges.",
    measured: "Shift of the stars of one channel against another, along the radius, at the corner.",
    more: "colour",
  },
  {
    id: "longitudinal-colour",
    word: "longitudinal colour",
    meaning: "Colours come to focus at different distances.",
    measured: "Difference of best focus between channels.",
    more: "colour",
  },
  {
    id: "matched-sampling",
    word: "matched sampling",
    meaning: "Two set-ups compared as if both had the pixels of the coarser one.",
    measured: "What the coarser pixels would have recorded is made from the finer frame, and measured again.",
  },
];
