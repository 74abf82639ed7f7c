import type { Quantity } from "../maths/quantity.ts";
import type { NightResults } from "./night-results.ts";

/** Below this ellipticity a star looks round, and what draws it out need not be asked after (chosen). */
const roundEnough = 0.02;

/** What the logs say, in the words of someone who looks after a mount; `tracking`: what the field model found in the frames. */
export function describeNight(night: Omit<NightResults, "sentence">, tracking: Quantity | null): string {
  return [
    ...describeGuiding(night),
    ...describeElongation(night.elongation, tracking),
    ...describeWind(night),
    ...describePole(night),
  ].join(" ");
}

function describeGuiding({
  guidingRms,
  shareOfBlur,
  excursions,
  exposureS,
  isExposureKnown,
}: Omit<NightResults, "sentence">): string[] {
  const { ra, dec } = guidingRms;
  if (ra.value === null || dec.value === null)
    return excursions === null ? [] : ["The guiding log is too short to tell anything."];
  const length = isExposureKnown
    ? `an exposure of ${exposureS} s`
    : `${exposureS} s, as the frames do not state their exposure`;
  const share =
    shareOfBlur.value === null
      ? ` ${shareOfBlur.why}`
      : ` That is at most ${shareOfBlur.value.toFixed(0)} % (${shareOfBlur.lo.toFixed(0)} to ${shareOfBlur.hi.toFixed(0)}) of the blur at the centre.`;
  return [
    `The guide star wandered by ${ra.value.toFixed(2)} arcsec in right ascension and ${dec.value.toFixed(2)} arcsec in declination (RMS within ${length}).${share}`,
  ];
}

function describeElongation(elongation: Quantity, tracking: Quantity | null): string[] {
  if (elongation.value === null || tracking === null || tracking.value === null) return [];
  const alone = `By itself that would draw stars out by an ellipticity of ${elongation.value.toFixed(2)}; the frames show ${tracking.value.toFixed(2)}`;
  if (tracking.hi < roundEnough) return [`${alone}, which is next to nothing.`];
  if (elongation.hi >= tracking.lo && elongation.lo <= tracking.hi)
    return [`${alone}: the mount explains it.`];
  return elongation.hi < tracking.lo
    ? [
        `${alone}: the rest is something that the guider does not see, such as a sagging guide telescope, or it is the optics.`,
      ]
    : [`${alone}, so the log and the frames are not of the same minutes.`];
}

function describeWind({ wind, gusts, windLink }: Omit<NightResults, "sentence">): string[] {
  if (wind.value === null) return [];
  const blew = `The wind blew at ${wind.value.toFixed(1)} m/s${gusts.value === null ? "" : `, in gusts at ${gusts.value.toFixed(1)} m/s`}`;
  if (windLink.value === null) return [`${blew}.`];
  if (windLink.lo > 0) return [`${blew}; the guiding error grew with it.`];
  return [`${blew}; the guiding error did not measurably grow with it.`];
}

function describePole({ polarError }: Omit<NightResults, "sentence">): string[] {
  return polarError.value === null
    ? []
    : [
        `The drift in declination asks for a polar axis at least ${tell(polarError, 1)} arcmin off, if nothing sagged.`,
      ];
}

function tell({ value, lo, hi }: { value: number; lo: number; hi: number }, decimals: number): string {
  return `${value.toFixed(decimals)} (${lo.toFixed(decimals)} to ${hi.toFixed(decimals)})`;
}
