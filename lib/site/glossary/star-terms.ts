import type { Term } from "./term.ts";

/** Words about the stars and the night. */
export const starTerms: readonly Term[] = [
  {
    id: "fwhm",
    word: "FWHM",
    also: ["full width at half maximum", "star width"],
    meaning: "Full width at half maximum: how wide a star is where it is half as bright as at its peak.",
    measured:
      "A smooth profile is fitted to the pixels of each star; the pixel’s own width is taken out. A zone’s number is the median of its stars.",
    more: "width",
  },
  {
    id: "half-flux-diameter",
    word: "half-flux diameter",
    meaning: "The diameter of the circle around a star that holds half of its light.",
    measured: "From the fitted profile. Wings of the star count more in it than in the FWHM.",
    more: "width",
  },
  {
    id: "ellipticity",
    word: "ellipticity",
    meaning: "How far a star is from round: 0 is round, 0.2 means the short width is 80 % of the long one.",
    measured:
      "One less the ratio of short to long width, median of the zone’s stars, the noise’s share taken off.",
    more: "shape",
  },
  {
    id: "radial-elongation",
    word: "radial elongation",
    meaning:
      "How far stars are drawn out along the line from the field’s centre: positive along it, negative across it.",
    measured: "The part of each star’s elongation along its radius, median of the zone’s stars.",
    more: "shape",
  },
  {
    id: "long-axis",
    word: "long axis",
    also: ["long axes"],
    meaning: "The direction in which a star is widest.",
    measured: "Counter-clockwise from the right of the displayed frame, 0 to 180 degrees.",
    more: "shape",
  },
  {
    id: "seeing",
    word: "seeing",
    meaning: "The blur that the air gives to every star of a night alike.",
    measured:
      "The FWHM in arcseconds that is left when the model of the field has taken out pixels and optics. What the mount wanders to all sides alike is in it.",
    more: "focal-surface",
  },
  {
    id: "tracking",
    word: "tracking",
    meaning: "How well the mount follows the sky; an error draws all stars of a frame out alike.",
    measured: "The elongation common to the whole frame in the model of the field.",
    more: "focal-surface",
  },
  {
    id: "guiding",
    word: "guiding",
    also: ["guiding error", "guide star"],
    meaning: "Correcting the mount by a guide star that is looked at again and again.",
    measured: "From the guider’s log, each axis by itself, within the time of one exposure.",
    more: "night",
  },
  {
    id: "rms",
    word: "RMS",
    meaning:
      "Root of the mean of the squares: the usual size of an error that goes both ways. About two samples in three lie within it.",
    more: "night",
  },
  {
    id: "saturated",
    word: "saturated",
    meaning: "So bright that the pixels could not record it; the width of such a star means nothing.",
  },
  {
    id: "undersampled",
    word: "undersampled",
    also: ["oversampled", "well sampled"],
    meaning:
      "Stars narrower than about two pixels are undersampled: the pixels lose detail that the optics gave.",
    measured: "The FWHM of the centre’s stars in pixels on the best night at hand.",
    more: "sampling",
  },
  {
    id: "interval",
    word: "95 % interval",
    meaning: "Were the test repeated, about 19 of 20 such ranges would hold the true value.",
    measured: "From the scatter of stars and frames, by drawing them again many times.",
    more: "intervals",
  },
  {
    id: "confidence",
    word: "confidence",
    meaning: "How often a verdict given with this number is right.",
    measured: "Set on several thousand simulated tests of known truth.",
    more: "focal-surface",
  },
  {
    id: "zone",
    word: "zone",
    meaning:
      "A part of the sensor by its distance from the centre: centre, middle, outer and the four corners.",
    measured: "Limits at 25, 55 and 80 % of the half-diagonal.",
    more: "zones",
  },
  {
    id: "field-radius",
    word: "field radius",
    meaning: "The distance of a place on the sensor from the sensor’s centre.",
  },
  {
    id: "half-diagonal",
    word: "half-diagonal",
    meaning: "The line from the sensor’s centre to a corner.",
  },
  {
    id: "background",
    word: "background",
    meaning: "The light of the sky and the camera’s own count between the stars.",
    measured: "A smooth map of the frame without its stars; the number is its median.",
    more: "frames",
  },
];
