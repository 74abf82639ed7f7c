/** Arc seconds in a radian. */
export const arcsecPerRadian = 206264.806247;
