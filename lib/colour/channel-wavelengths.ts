/** Middle of a passband and how far it may lie off, um. */
export interface Passband {
  middleUm: number;
  eitherSideUm: number;
  /** Whether the record states it; else it is what such a colour mostly is. */
  stated: boolean;
}

/** Effective wavelengths for a star of middle colour: common practice, no source; the spread is that of cameras on sale. */
const pixelColours: Readonly<Record<string, [number, number]>> = {
  R: [0.605, 0.02],
  G: [0.535, 0.012],
  B: [0.465, 0.012],
};

/** Filters by what they are commonly called, lower case; lines by their laboratory wavelength. */
const filterNames: readonly [RegExp, number, number][] = [
  [/^(r|red)$/, 0.62, 0.025],
  [/^(g|green)$/, 0.53, 0.015],
  [/^(b|blue)$/, 0.455, 0.015],
  [/^(l|lum|luminance|clear|none)$/, 0.55, 0.04],
  [/^(ha|h-alpha|halpha|h alpha)$/, 0.6563, 0.001],
  [/^(hb|h-beta|hbeta|h beta)$/, 0.4861, 0.001],
  [/^(o3|oiii|o-iii|\[oiii\])$/, 0.5007, 0.001],
  [/^(s2|sii|s-ii|\[sii\])$/, 0.6724, 0.002],
];

/** Stated passbands are taken as known to this, um: a filter's middle is printed in whole nanometres, the star shifts it. */
const statedEitherSideUm = 0.004;

/** The passband of a colour of the pixels (R, G, B), from the record where it states them. */
export function findPixelPassband(
  channel: string,
  statedNm: Readonly<Record<string, number | undefined>> | undefined,
): Passband | null {
  const stated = statedNm?.[channel];
  if (stated !== undefined)
    return { middleUm: stated / 1000, eitherSideUm: statedEitherSideUm, stated: true };
  if (!Object.hasOwn(pixelColours, channel)) return null;
  const [middleUm, eitherSideUm] = pixelColours[channel];
  return { middleUm, eitherSideUm, stated: false };
}

/** The passband of a filter by its record, else by its name; null where neither tells. */
export function findFilterPassband(name: string, statedNm: number | undefined): Passband | null {
  if (statedNm !== undefined)
    return { middleUm: statedNm / 1000, eitherSideUm: statedEitherSideUm, stated: true };
  const known = filterNames.find(([pattern]) => pattern.test(name.trim().toLowerCase()));
  return known === undefined ? null : { middleUm: known[1], eitherSideUm: known[2], stated: false };
}

/** Green stands for the eye and lies in the middle of most corrections, um. */
const middleOfSight = 0.535;

/**
 * The channel that the others are held against: green by name, else the one nearest to green by its passband, else the
 * first.
 */
export function chooseReference(
  channels: readonly { name: string; passband: Passband | null }[],
): string | null {
  const green = channels.find(({ name }) => /^(g|green)$/i.test(name.trim()));
  if (green !== undefined) return green.name;
  const known = channels.flatMap(({ name, passband }) =>
    passband === null ? [] : [{ name, away: Math.abs(passband.middleUm - middleOfSight) }],
  );
  known.sort((a, b) => a.away - b.away);
  return known[0]?.name ?? channels[0]?.name ?? null;
}
