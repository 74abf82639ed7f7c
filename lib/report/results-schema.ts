import {
  corners,
  count,
  date,
  dictionary,
  each,
  judged,
  length,
  lengthDefinition,
  list,
  number,
  object,
  oneOf,
  orNull,
  quantity,
  type Schema,
  sha256,
  text,
  zones,
} from "./schema-parts.ts";

const draft = "http://json-schema.org/draft-07/schema#";

const zone = object({
  stars: count,
  fwhm: length,
  fwhmMajor: length,
  fwhmMinor: length,
  hfd: length,
  sampledFwhm: quantity("px", "Width with the pixel's own in it."),
  ellipticity: quantity("ratio", "Median of 1 - minor/major."),
  radial: quantity(
    "ratio",
    "Median component of (e1, e2) along the radius; positive: long axes point outwards.",
  ),
  angle: quantity("deg", "Of the long axis, counter-clockwise from +x as displayed."),
});

const frame = object({
  file: text,
  sha256,
  found: count,
  used: count,
  saturated: count,
  background: quantity("ADU"),
  noise: quantity("ADU"),
  warnings: list(text),
});

const place = object({ x: quantity("mm"), y: quantity("mm") });

const field = object({
  defocus: quantity("um", "Height of the focal surface at the centre, positive towards the telescope."),
  ...each(["tiltX", "tiltY"], quantity("um/mm")),
  tiltAcross: quantity("um"),
  tiltAngle: quantity("arcmin"),
  tiltDirection: quantity("deg", "In which the height rises, -180 to 180."),
  ...each(["curvature", "astigmatism"], quantity("um/mm2")),
  centre: place,
  tracking: object({ ellipticity: quantity("ratio"), angle: quantity("deg") }),
  seeing: quantity("arcsec"),
  explained: quantity("percent"),
  signKnown: { type: "boolean" },
  why: text,
});

const diagnosis = object({
  spacing: judged("tooClose", "tooFar", "good", "unknown"),
  tilt: judged("present", "none", "unknown"),
  tracking: judged("present", "none", "unknown"),
  corners: object(each(corners, judged("radial", "tangential", "oblique", "round", "unknown"))),
  sentence: text,
});

const sweep = object({
  ...each(["defocus", "tiltAcross", "bestPosition"], quantity("um")),
  ...each(["tiltX", "tiltY"], quantity("um/mm")),
  tiltDirection: quantity("deg"),
  ...each(["curvature", "astigmatism"], quantity("um/mm2")),
  zones: object(each(zones, object(each(["best", "alongRadius", "acrossRadius"], quantity("um"))))),
});

const light = object({
  corners: object(each(corners, quantity("percent", "Of the brightest, at the very corner."))),
  falloff: quantity("stop"),
  centre: place,
  gradient: object({ size: quantity("percent"), angle: quantity("deg") }),
  fullyLitRadius: quantity("mm"),
});

const rings = object({
  list: list(
    object({ part: text, clearDiameterMm: number, fromSensorMm: number, corner: quantity("percent") }),
  ),
  together: quantity("percent"),
  limitingRing: orNull(text),
});

const colour = object({
  channels: dictionary(object({ fwhm: length, bestFocusOffset: quantity("um") })),
  pairs: list(
    object({
      of: text,
      against: text,
      lateralAtCorner: quantity("um", "Outward positive."),
      constantShift: object({ size: quantity("um"), angle: quantity("deg") }),
      expectedFromAir: quantity("um"),
    }),
  ),
});

const night = object({
  guidingRms: object(each(["ra", "dec", "total"], quantity("arcsec"))),
  polarError: quantity("arcmin", "The least that the drift in declination asks for."),
  wind: quantity("m/s", "Mean over the log."),
  shareOfBlur: quantity("percent", "Guiding's part of the variance of stars at the centre, at most."),
});

const test = object({
  id: text,
  date,
  spacingError: orNull(quantity("mm", "Positive: the sensor is too far away.")),
  frames: list(frame),
  zones: orNull(object(each(zones, zone))),
  field: orNull(field),
  diagnosis: orNull(diagnosis),
  moves: orNull(
    object({
      screws: list(object({ angleDeg: number, move: quantity("um"), turns: quantity("turn") })),
      remainingTilt: quantity("um"),
      sentence: text,
    }),
  ),
  sweep: orNull(sweep),
  illumination: orNull(dictionary(light)),
  rings: orNull(rings),
  colour: orNull(colour),
  night: orNull(night),
});

const fileHash = object({ file: text, sha256 });

const finding = object({
  level: oneOf("pass", "watch", "fail", "note"),
  sentence: text,
  evidence: list(text),
  action: orNull(text),
});

const backFocus = object({
  ...each(["required", "plateShift", "plateShiftRuleOfThumb", "mechanical", "spacingError"], quantity("mm")),
  lines: list(
    object({
      part: text,
      ...each(["lengthMm", "plateShiftMm", "fromSensorMm"], number),
      clearDiameterMm: orNull(number),
    }),
  ),
});

const ledger = object({
  rows: list(
    object({
      test: text,
      date,
      spacingError: quantity("mm"),
      ...each(["curvature", "astigmatism"], quantity("um/mm2")),
      radial: quantity("ratio"),
      tiltAcross: quantity("um"),
      seeing: quantity("arcsec"),
    }),
  ),
  ...each(["best", "nextMove"], quantity("mm")),
  combination: orNull(list(number)),
  sentence: text,
});

const sampling = object({
  focalLength: quantity("mm"),
  focalRatio: quantity("ratio"),
  imageScale: quantity("arcsec/px"),
  ...each(["fieldWidth", "fieldHeight", "fieldDiagonal"], quantity("deg")),
  ...each(["airyDiameter", "depthOfFocus"], quantity("um")),
  ...each(["dawesLimit", "rayleighLimit"], quantity("arcsec")),
  pixelsPerSeeing: quantity("px"),
  lightGrasp: quantity("ratio"),
});

const side = object({ train: text, test: text });
const verdict = object({
  class: oneOf("aSharper", "bSharper", "noDifference", "cannotTell"),
  sentence: text,
});
const pair = (schema: Schema) => object(each(["a", "b", "difference"], schema));

const comparison = object({
  id: text,
  name: text,
  a: side,
  b: side,
  ...each(["ratio", "nominalRatio"], quantity("ratio")),
  rotation: quantity("deg"),
  zones: object(
    each(zones, object({ ...each(["a", "b", "difference"], length), optics: pair(quantity("um")) })),
  ),
  matched: orNull(object({ coarser: oneOf("a", "b"), zones: object(each(zones, pair(quantity("px")))) })),
  verdict: object({ ...each(["px", "um", "arcsec", "matched"], verdict), overall: text }),
});

/** JSON Schema of a train's results.json: what every reader of the file may rely on; more may stand beside it. */
export const resultsSchema: Schema = {
  $schema: draft,
  title: "Results of one optical train",
  ...object({
    format: { const: "rig-report-results/1" },
    id: text,
    name: text,
    train: { type: "object", description: "The record, its parts resolved." },
    provenance: object({
      software: text,
      measurementFormat: text,
      records: list(fileHash),
      frames: list(fileHash),
    }),
    sampling,
    backFocus: orNull(backFocus),
    tests: list(test),
    ledger: orNull(ledger),
    comparisons: list(comparison),
    findings: list(finding),
  }),
  definitions: { length: lengthDefinition },
};

/** JSON Schema of a comparison's results.json. */
export const comparisonSchema: Schema = {
  $schema: draft,
  title: "Results of one comparison",
  allOf: [object({ format: { const: "rig-report-comparison/1" } }), comparison],
  definitions: { length: lengthDefinition },
};

const entry = object({ id: text, name: text, page: text, results: text });

/** JSON Schema of the site's index.json; addresses are relative to it. */
export const indexSchema: Schema = {
  $schema: draft,
  title: "Trains and comparisons of a site",
  ...object({ trains: list(entry), comparisons: list(entry) }),
};
