import { type FitsHeader, findNumber, findText } from "./fits-header.ts";

/** The linear part of a world coordinate system, degrees per pixel: rows are world axes, columns pixel axes. */
export type WcsMatrix = readonly [readonly [number, number], readonly [number, number]];

/**
 * The CD matrix, whichever way the header gives it: CD itself, PC with CDELT, or CDELT with CROTA. Null where the
 * header has no celestial axes in degrees. World axis 0 is the longitude.
 * @source Greisen & Calabretta 2002, A&A 395, 1061, section 2.1; Calabretta & Greisen 2002, A&A 395, 1077, section 6
 */
export function readWcsMatrix(header: FitsHeader): WcsMatrix | null {
  const types = [findText(header, "CTYPE1"), findText(header, "CTYPE2")].map(
    (type) => type?.toUpperCase() ?? "",
  );
  const isLongitude = (type: string): boolean => /^(RA--|[GEHS]LON)/.test(type) || type === "RA";
  const isLatitude = (type: string): boolean => /^(DEC-|[GEHS]LAT)/.test(type) || type === "DEC";
  const turned = isLatitude(types[0]) && isLongitude(types[1]);
  if (!turned && !(isLongitude(types[0]) && isLatitude(types[1]))) return null;
  for (const keyword of ["CUNIT1", "CUNIT2"]) {
    if (!/^(deg(rees?)?)?$/i.test(findText(header, keyword) ?? "")) return null;
  }
  const matrix = readCd(header) ?? readCdelt(header);
  if (matrix === null) return null;
  const determinant = matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0];
  if (!Number.isFinite(determinant) || determinant === 0) return null;
  return turned ? [matrix[1], matrix[0]] : matrix;
}

/** CDi_j; absent elements are 0 once one is there, and CDELT then does not count. */
function readCd(header: FitsHeader): WcsMatrix | null {
  const names = ["CD1_1", "CD1_2", "CD2_1", "CD2_2"];
  if (!names.some((name) => header.cards.has(name))) return null;
  const [a, b, c, d] = names.map((name) => findNumber(header, name) ?? 0);
  return [
    [a, b],
    [c, d],
  ];
}

/** CDELTi with PCi_j (identity where absent), or with the older CROTA2. */
function readCdelt(header: FitsHeader): WcsMatrix | null {
  const pcNames = ["PC1_1", "PC1_2", "PC2_1", "PC2_2"];
  const hasPc = pcNames.some((name) => header.cards.has(name));
  if (!header.cards.has("CDELT1") && !hasPc) return null;
  const x = findNumber(header, "CDELT1") ?? 1;
  const y = findNumber(header, "CDELT2") ?? 1;
  if (hasPc) {
    const identity = [1, 0, 0, 1];
    const [a, b, c, d] = pcNames.map((name, i) => findNumber(header, name) ?? identity[i]);
    return [
      [x * a, x * b],
      [y * c, y * d],
    ];
  }
  const rotation = ((findNumber(header, "CROTA2") ?? findNumber(header, "CROTA1") ?? 0) * Math.PI) / 180;
  return [
    [x * Math.cos(rotation), -y * Math.sin(rotation)],
    [x * Math.sin(rotation), y * Math.cos(rotation)],
  ];
}

/** Scale of a pixel along each image axis, the columns' norms, arcsec. */
export function computeAxisScalesArcsec(matrix: WcsMatrix): [number, number] {
  return [3600 * Math.hypot(matrix[0][0], matrix[1][0]), 3600 * Math.hypot(matrix[0][1], matrix[1][1])];
}

/** Mean scale, the root of a pixel's area, arcsec. */
export function computeMeanScaleArcsec(matrix: WcsMatrix): number {
  return 3600 * Math.sqrt(Math.abs(matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0]));
}

/**
 * Direction of north (latitude growing, longitude kept) on the displayed frame: degrees counter-clockwise from up,
 * above -180 and up to 180. `rowsFromBottom`: stored rows run upwards on the display, as the standard has it.
 */
export function computeNorthAngleDeg(matrix: WcsMatrix, rowsFromBottom: boolean): number {
  const sign = Math.sign(matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0]);
  const x = -matrix[0][1] * sign;
  const y = matrix[0][0] * sign * (rowsFromBottom ? 1 : -1);
  // Adding 0 turns a negative zero into a plain one.
  return (Math.atan2(-x, y) * 180) / Math.PI + 0;
}
