const sides = [
  "right edge",
  "upper right corner",
  "upper edge",
  "upper left corner",
  "left edge",
  "lower left corner",
  "lower edge",
  "lower right corner",
];

/** The edge or corner of the sensor that a direction from its middle points to; counter-clockwise from the right. */
export function nameSide(angleDeg: number): string {
  return sides[((Math.round(angleDeg / 45) % 8) + 8) % 8];
}
