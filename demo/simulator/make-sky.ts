import { makeRandomSource } from "./random.ts";
import type { SkyStars } from "./scene.ts";

/** A star of a catalogue: degrees, magnitude, B - V. */
export interface CatalogueStar {
  rightAscensionDeg: number;
  declinationDeg: number;
  magnitude: number;
  colourIndex: number;
}

export interface SkyField {
  centreRightAscensionDeg: number;
  centreDeclinationDeg: number;
  /** Size of the patch that is filled, degrees east-west and north-south. */
  widthDeg: number;
  heightDeg: number;
  /** Stars per square degree down to the faintest magnitude. */
  starsPerSquareDegree: number;
  faintestMagnitude: number;
  /** Growth of the counts: log10 N(<m) rises by this per magnitude. About 0.35 to 0.4 near the Milky Way. */
  countSlope: number;
  seed: number;
}

/** The catalogue is taken as complete to here; fainter stars are made up. */
const catalogueLimit = 7.8;

/**
 * The stars of a patch of sky on its tangent plane: the catalogue's bright ones at their places (gnomonic projection,
 * Calabretta & Greisen 2002, section 5.1.3, from memory), and below them a seeded population whose counts follow the
 * slope and whose colours scatter about B - V = 0.75 (own choice, after bright stars near the Milky Way).
 */
export function makeSky(field: SkyField, catalogue: readonly CatalogueStar[]): SkyStars {
  const degree = Math.PI / 180;
  const xi: number[] = [];
  const eta: number[] = [];
  const magnitude: number[] = [];
  const colourIndex: number[] = [];
  const [halfX, halfY] = [field.widthDeg * 1800, field.heightDeg * 1800];
  const declination0 = field.centreDeclinationDeg * degree;
  for (const star of catalogue) {
    if (star.magnitude > catalogueLimit) continue;
    const hour = (star.rightAscensionDeg - field.centreRightAscensionDeg) * degree;
    const declination = star.declinationDeg * degree;
    const depth =
      Math.sin(declination) * Math.sin(declination0) +
      Math.cos(declination) * Math.cos(declination0) * Math.cos(hour);
    if (depth <= 0.5) continue;
    const east = (Math.cos(declination) * Math.sin(hour)) / depth;
    const north =
      (Math.sin(declination) * Math.cos(declination0) -
        Math.cos(declination) * Math.sin(declination0) * Math.cos(hour)) /
      depth;
    if (Math.abs(east) * 206264.806 > halfX || Math.abs(north) * 206264.806 > halfY) continue;
    xi.push(east * 206264.806);
    eta.push(north * 206264.806);
    magnitude.push(star.magnitude);
    colourIndex.push(star.colourIndex);
  }
  const random = makeRandomSource(field.seed);
  const brightest = 10 ** (field.countSlope * (catalogueLimit - field.faintestMagnitude));
  const count = Math.round(field.starsPerSquareDegree * field.widthDeg * field.heightDeg * (1 - brightest));
  for (let k = 0; k < count; k++) {
    xi.push((2 * random.drawUniform() - 1) * halfX);
    eta.push((2 * random.drawUniform() - 1) * halfY);
    const share = brightest + (1 - brightest) * random.drawUniform();
    magnitude.push(field.faintestMagnitude + Math.log10(share) / field.countSlope);
    colourIndex.push(Math.max(-0.2, Math.min(2, 0.75 + 0.35 * random.drawNormal())));
  }
  return {
    xiArcsec: Float64Array.from(xi),
    etaArcsec: Float64Array.from(eta),
    magnitude: Float64Array.from(magnitude),
    colourIndex: Float64Array.from(colourIndex),
  };
}
