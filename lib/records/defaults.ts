import type { Tolerances } from "./types.ts";

/**
 * Refractive index of the common borosilicate crown at 587.6 nm (n_d = 1.5168), rounded as makers print it.
 * Source: Schott optical glass data sheet N-BK7. A wrong glass matters little: fused silica (1.4585) shifts the focus
 * by 0.026 mm less for each millimetre of glass.
 */
export const BOROSILICATE_CROWN_INDEX = 1.517;

/**
 * What a train must keep to where neither its own record nor site.yaml says otherwise. All five were chosen, none is
 * a standard (common practice, no source):
 * - corner width 1.25 times the centre's: the growth an observer begins to see when the two are shown side by side;
 * - corner ellipticity 0.2: a long axis a quarter longer than the short one, where stars cease to look round;
 * - corner light 60 %: a loss of 0.74 stop; a flat still repairs it at the cost of 23 % of the corner's signal to noise;
 * - tilt 40 um across the sensor, so 20 um at either side: within the quarter-wave depth of focus of f/5 at 550 nm,
 *   which is 27.5 um to each side;
 * - spacing error 0.2 mm: about the finest step in which spacers and shims are commonly sold.
 */
export const DEFAULT_TOLERANCES: Required<Tolerances> = {
  cornerFwhmOverCentre: 1.25,
  cornerEllipticity: 0.2,
  cornerLightPercent: 60,
  tiltAcrossUm: 40,
  spacingErrorMm: 0.2,
};

/** The site's record where content/ has no site.yaml; empty text means that the page leaves the line out. */
export const DEFAULT_SITE = {
  title: "Optical train reports",
  author: "",
  club: "",
  baseUrl: "",
  language: "en",
} as const;
