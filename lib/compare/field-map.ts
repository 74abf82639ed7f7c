/**
 * How one camera's view of the sky falls on another's. Positions are mm from each sensor's centre, x right and y up as
 * displayed; the optical axis is taken through that centre.
 */
export interface FieldMap {
  /** Focal length of b over that of a, on the two optical axes: distortion vanishes there. */
  ratio: number;
  /** Turns a into b, radians, counter-clockwise. */
  turn: number;
  /** Where b's axis points as seen from a: rotation of the sky about a's x and y axes, radians. */
  tiltX: number;
  tiltY: number;
  /**
   * Radial distortion of each side: radii are longer by this share at the reference radius, growing with the square of
   * the radius (third order; Conrady's term, common practice).
   */
  distortionA: number;
  distortionB: number;
  /** Stretch of b along 0 degrees and along 45 degrees, shares, as differential refraction gives: the mean is 0. */
  stretchAlong: number;
  stretchAcross: number;
}

/** What a map needs beside its parameters. */
export interface MapFrame {
  /** Focal length of a, mm: it says how large the field is on the sphere, and need be right to a few percent only. */
  focalLengthMm: number;
  /** Tangent of the field angle at which distortion is stated. */
  referenceTangent: number;
  /** a is seen in a mirror with a vertical axis first. */
  mirrored: boolean;
}

export const MAP_PARAMETERS = [
  "ratio",
  "turn",
  "tiltX",
  "tiltY",
  "distortionA",
  "distortionB",
  "stretchAlong",
  "stretchAcross",
] as const satisfies readonly (keyof FieldMap)[];

/**
 * Where a star at (x, y) mm on a lies on b, mm: a's distortion taken off, out to the sphere (gnomonic), turned there,
 * projected on b's tangent plane, and given b's distortion and stretch. Exact on the sphere for any offset of pointing
 * (Calabretta & Greisen 2002, A&A 395:1077, section 5.1.3, from memory).
 */
export function makeMapper(map: FieldMap, frame: MapFrame): (x: number, y: number) => [number, number] {
  const reference2 = frame.referenceTangent ** 2;
  const { focalLengthMm } = frame;
  const sign = frame.mirrored ? -1 : 1;
  const [cosX, sinX] = [Math.cos(map.tiltX), Math.sin(map.tiltX)];
  const [cosY, sinY] = [Math.cos(map.tiltY), Math.sin(map.tiltY)];
  const [cosTurn, sinTurn] = [Math.cos(map.turn), Math.sin(map.turn)];
  const [distortionA, distortionB] = [map.distortionA / reference2, map.distortionB / reference2];
  const focalLengthB = map.ratio * focalLengthMm;
  const { stretchAlong, stretchAcross } = map;
  return (x, y) => {
    const [seenU, seenV] = [(sign * x) / focalLengthMm, y / focalLengthMm];
    const radius2 = seenU * seenU + seenV * seenV;
    // Radii as seen are r (1 + k r2 / R2): three rounds of fixed point reach 1e-9 for a distortion of a few percent.
    let growth = 1 + distortionA * radius2;
    growth = 1 + (distortionA * radius2) / (growth * growth);
    growth = 1 + (distortionA * radius2) / (growth * growth);
    const [u, v] = [seenU / growth, seenV / growth];
    // About a's x axis by tiltX, then about its y axis by tiltY.
    const v1 = cosX * v - sinX;
    const w1 = sinX * v + cosX;
    const w2 = -sinY * u + cosY * w1;
    const [p, q] = [(cosY * u + sinY * w1) / w2, v1 / w2];
    const [s, t] = [cosTurn * p - sinTurn * q, sinTurn * p + cosTurn * q];
    const scale = focalLengthB * (1 + distortionB * (s * s + t * t));
    return [
      scale * ((1 + stretchAlong) * s + stretchAcross * t),
      scale * (stretchAcross * s + (1 - stretchAlong) * t),
    ];
  };
}

/** One point by `makeMapper`. */
export function mapToOther(map: FieldMap, frame: MapFrame, x: number, y: number): [number, number] {
  return makeMapper(map, frame)(x, y);
}
