/** What each number of the sampling section is called and what it means to someone at the telescope. */
export const samplingWords: Record<string, { label: string; meaning: string }> = {
  focalLength: {
    label: "Focal length as used",
    meaning: "The focal length that the camera sees, a corrector counted in. Scale and field follow from it.",
  },
  focalRatio: {
    label: "Focal ratio as used",
    meaning: "Focal length over aperture. It sets the brightness of extended objects and the depth of focus.",
  },
  imageScale: {
    label: "Image scale",
    meaning: "How much sky one pixel covers.",
  },
  fieldWidth: { label: "Field, width", meaning: "How much sky the long side of the sensor covers." },
  fieldHeight: { label: "Field, height", meaning: "How much sky the short side of the sensor covers." },
  fieldDiagonal: { label: "Field, diagonal", meaning: "How much sky lies between opposite corners." },
  airyDiameter: {
    label: "Diameter of the Airy disc",
    meaning:
      "The first dark ring of the diffraction pattern, on the sensor. No star of a perfect lens at this focal ratio is smaller.",
  },
  dawesLimit: {
    label: "Dawes limit",
    meaning:
      "The closest pair of equal stars an eye parts at this aperture, found by observing; a rule, not a law of optics.",
  },
  rayleighLimit: {
    label: "Rayleigh limit",
    meaning: "The distance of two stars at which the peak of one falls on the first dark ring of the other.",
  },
  depthOfFocus: {
    label: "Depth of focus",
    meaning: "How far the sensor may be from best focus before diffraction alone shows it.",
  },
  pixelsPerSeeing: {
    label: "Pixels per measured star width",
    meaning:
      "The width of stars in the centre, as measured in these tests, in pixels. Below 2 the pixels limit the detail; above about 3 they do not.",
  },
  lightGrasp: {
    label: "Light per area of sensor",
    meaning:
      "How much more light of an extended object falls on each square millimetre than without a corrector.",
  },
};

/** "windowShift" as "Window shift", for a number that has no words of its own here. */
export function nameKey(key: string): string {
  const words = key.replace(
    /([a-z0-9])([A-Z])/g,
    (_, before: string, after: string) => `${before} ${after.toLowerCase()}`,
  );
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}`;
}
