/** What one test of a train yields: one entry of `tests` in results.json. */
import type { WidthContrasts } from "../field/contrasts.ts";
import type { FoldedField } from "../field/fold-field.ts";
import type { Illumination } from "../light/illumination.ts";
import type { LightCause } from "../light/light-cause.ts";
import type { RingResults } from "../light/ring-results.ts";
import type { Length, Quantity } from "../maths/quantity.ts";
import type { NightResults } from "../night/night-results.ts";
import type { ColourResults } from "./colour-results.ts";
import type { EdgeResults } from "./edge-results.ts";
import type { Confidence, Corner, Zone } from "./zone-names.ts";

export interface TestResults {
  id: string;
  date: string;
  spacingError: Quantity | null;
  frames: {
    file: string;
    sha256: string;
    found: number;
    used: number;
    saturated: number;
    background: Quantity;
    noise: Quantity;
    warnings: string[];
  }[];
  zones: Record<
    Zone,
    {
      stars: number;
      fwhm: Length;
      fwhmMajor: Length;
      fwhmMinor: Length;
      hfd: Length; // the pixel's integral taken out
      sampledFwhm: Quantity; // px, with it
      ellipticity: Quantity; // ratio, median of 1 - minor/major
      radial: Quantity; // ratio, median component of (e1, e2) along the radius
      angle: Quantity; // deg, from the medians of e1 and e2; null where they cancel
    }
  > | null;
  field: null | {
    defocus: Quantity; // um, z at the centre
    tiltX: Quantity;
    tiltY: Quantity; // um/mm, gradient of z along x and y
    tiltAcross: Quantity; // um, size of the gradient times the sensor's diagonal
    tiltAngle: Quantity; // arcmin
    tiltDirection: Quantity; // deg, -180..180, in which z rises
    curvature: Quantity;
    astigmatism: Quantity; // um/mm2: c and A
    centre: { x: Quantity; y: Quantity }; // mm, of the r2 terms
    tracking: { ellipticity: Quantity; angle: Quantity }; // as a star at the centre would show it
    seeing: Quantity; // arcsec, FWHM, pixel and optics taken out
    explained: Quantity; // percent of the field variation
    signKnown: boolean; // false: all of z, tilt, c and A may be negated together
    why: string;
  };
  diagnosis: null | {
    spacing: { class: "tooClose" | "tooFar" | "good" | "unknown" } & Confidence;
    tilt: { class: "present" | "none" | "unknown" } & Confidence;
    tracking: { class: "present" | "none" | "unknown" } & Confidence;
    corners: Record<
      Corner,
      { class: "radial" | "tangential" | "oblique" | "round" | "unknown" } & Confidence
    >; // round: ellipticity below 0.06
    sentence: string;
    /** What the tilt is judged by: the focus sweep or the frames in focus, whichever knows it better. */
    tiltFrom?: "sweep" | "frames";
    /** A sentence where sweep and frames differ on the tilt by more than chance lets them. */
    contradiction?: string | null;
  };
  moves: null | {
    /** `move` um, positive away from the telescope; `setTurns` is `turns` as a hand can set it (15 degrees). */
    screws: { angleDeg: number; move: Quantity; turns: Quantity; setTurns?: number | null }[];
    remainingTilt: Quantity; // um across the diagonal, after setting by hand
    sentence: string;
    /** Where the focal surface lies nearest to the telescope. */
    highCorner?: Corner | null;
    advice?: "turn" | "leave" | "find sign";
    /** um at the sensor's centre, left by setting to whole steps. */
    focusShift?: Quantity | null;
    /** Turns where every screw may only open, and the shift of focus this brings. */
    oneWay?: number[] | null;
    oneWayFocusShift?: Quantity | null;
    /** um to move the focuser out for the frame that tells the sign. */
    testOffset?: Quantity | null;
    from?: "sweep" | "field";
    /** Shims in place of screws: what to lay where, um, and the shims that make it up; null where screws do it. */
    shims?: { angleDeg: number; radiusMm: number; thicknessUm: number; madeOfUm: number[] }[] | null;
  };
  sweep: null | {
    defocus: Quantity;
    tiltX: Quantity;
    tiltY: Quantity;
    tiltAcross: Quantity;
    tiltDirection: Quantity;
    curvature: Quantity;
    astigmatism: Quantity;
    bestPosition: Quantity; // um on the focuser's scale, best for the whole field
    zones: Record<Zone, { best: Quantity; alongRadius: Quantity; acrossRadius: Quantity }>; // um, z of the zone relative to the centre zone
    /** Centre of the r2 terms, mm. Heights (`defocus`, `mesh`) count over the sensor where it stands at `bestPosition`. */
    centre?: { x: Quantity; y: Quantity };
    /** What the best common focus costs each corner: how far it is from its own best focus, and width there over width at its own. */
    corners?: Record<Corner, { outOfFocus: Quantity; cost: Quantity }>;
    /** Steepness of the curves over what focal ratio and step size on record make of it; 1 where these are right. */
    steepness?: Quantity;
    /** Lag of positions reached inwards, um; null where the focuser went one way only. */
    lag?: Quantity | null;
    /** Width of a star in focus, um, median of the frames. */
    focusedWidth?: Quantity;
    /** The surface cell by cell, from each cell's own stars. */
    mesh?: { xMm: number[]; yMm: number[]; heightUm: number[]; errorUm: number[]; residual: Quantity };
    frames?: { file: string; positionUm: number; stars: number }[];
    /** Median widths by zone and frame, and the fitted curves through them. */
    curves?: {
      zone: Zone;
      positionUm: number[];
      along: Quantity[];
      across: Quantity[];
      fitted: { positionUm: number[]; alongUm: number[]; acrossUm: number[] };
    }[];
    notes?: string[];
  };
  /**
   * By channel: "L", "R", "G", "B" or the filter's name. `corners` (percent of the brightest, at the very corner), `falloff`
   * (stop, mean of the corners), `centre` (mm, brightest point of the smooth map), `gradient` (percent across the diagonal)
   * and `fullyLitRadius` (mm, within which light stays above 99 % of the brightest), and more beside them.
   */
  illumination: null | Record<string, Illumination>;
  /**
   * The light that the rings on record leave: `list` with the percent that each alone leaves at the corner, `together` the
   * percent that all leave, `limitingRing` the part that takes most, and more beside them.
   */
  rings: null | RingResults;
  /** The flats against the rings; null without flats. */
  lightCause?: LightCause | null;
  colour: null | ColourResults;
  /** The Moon's limb; absent where the record names no edge. */
  edge?: EdgeResults | null;
  /** What the guider's log and the wind's say; null where the test names neither. */
  night: null | NightResults;
  /** Conditions, filter, spacers and notes of the record, as the page prints them. */
  record: {
    spacersMm: number[] | null;
    filter: string | null;
    cameraAngleDeg: number | null;
    altitudeDeg: number | null;
    conditions: Record<string, string | number>;
    notesMarkdown: string;
  };
  /** Zones of each further channel of a colour-filter frame ("R", "B"); the test's `zones` are the green or only one's. */
  channelZones: Record<string, NonNullable<TestResults["zones"]>>;
  channel: string; // channel of `zones` and `starField`
  /** Usable stars, combined over the frames star by star; columns of equal length. */
  starField: null | {
    xMm: number[];
    yMm: number[];
    fwhmUm: number[];
    ellipticity: number[];
    angleDeg: number[];
    radial: number[];
    snr: number[];
    frames: number[]; // in how many frames the star was measured
    total: number; // usable stars measured; more than listed where the list was thinned
  };
  /** Median and 95 % interval of width and radial elongation in rings of field radius. */
  radialProfile: null | {
    rho: number[];
    rMm: number[];
    stars: number[];
    fwhmUm: Quantity[];
    radial: Quantity[];
    ellipticity: Quantity[];
  };
  /** The focal surface of the frames up to one common sign, for comparing nights. */
  folded?: FoldedField | null;
  /** Ratios of widths between zones, free of what the night did to the whole frame. */
  contrasts?: WidthContrasts | null;
  /** Cut-outs along the half-diagonals; `file` is relative to the test's folder. */
  spokes: null | {
    crops: {
      halfDiagonal: Corner | "centre";
      rho: number;
      rMm: number;
      file: string;
      sidePx: number;
      fwhmPx: number;
      ellipticity: number;
      angleDeg: number;
      xMm: number;
      yMm: number;
    }[];
  };
  /** Scale factors used for this test: um and arcsec of one pixel as binned. */
  scale: { umPerPx: number; arcsecPerPx: number; focalLengthMm: number; from: string };
  sensor: { widthMm: number; heightMm: number };
  warnings: string[];
}
