import { computeStudentQuantile } from "../maths/distributions.ts";
import { fitLeastSquares, type LinearFit } from "../maths/least-squares.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";

/** A test's tilt, um/mm in the sensor's axes, and how camera and telescope stood. */
export interface TiltTest {
  test: string;
  cameraAngleDeg: number | null;
  altitudeDeg: number | null;
  tiltX: Quantity;
  tiltY: Quantity;
  signKnown: boolean;
  /** Tests of different stacks are not put together: a spacer may bring its own tilt. */
  stack: string;
}

/** A tilt as a vector; `direction` in degrees from +x in the axes named by the member. */
export interface TiltPart {
  x: Quantity;
  y: Quantity;
  /** um across the sensor's diagonal. */
  across: Quantity;
  direction: Quantity;
}

export interface TiltSources {
  tests: string[];
  /** Turns with the camera (sensor's seat, camera's flange), in the sensor's axes; null with `why`. */
  camera: TiltPart | null;
  /** Stays with the tube (corrector, focuser, adapter), in the axes of the sensor at camera angle 0. */
  tube: TiltPart | null;
  rotationWhy: string;
  /** Change of the tilt from high to low altitude; null with `why`. */
  sag: { from: number; to: number; change: TiltPart } | null;
  sagWhy: string;
  sentence: string;
}

/** Turns below this do not part the two tilts: a vector of 1 changes by 0.5 at 29 degrees (chosen). */
const leastTurnDeg = 30;
/** Gravity across the tube goes with the cosine of the altitude; a smaller spread of it moves nothing worth telling (chosen). */
const leastCosineSpread = 0.2;

/**
 * Parts the tilt by its source. Across camera angles: t = c + R(-angle) u, c turning with the camera and u staying with
 * the tube, for a camera that is turned counter-clockwise on the tube as its frames are displayed. Across altitudes: t = f
 * + s (cos h - mean), the pull of gravity across the tube. Weighted least squares with each test's own interval;
 * where tests scatter more than these allow, the scatter counts.
 *
 * Only tests of one stack are put together, of the stack with the most tests whose sign is known.
 */
export function separateTilt(tests: readonly TiltTest[], diagonalMm: number): TiltSources | null {
  const group = chooseGroup(tests);
  if (group.length < 2) return null;
  const rotation = separateRotation(group, diagonalMm);
  const sag = separateSag(group, diagonalMm);
  const sentence = [
    rotation.camera !== null && rotation.tube !== null
      ? sayRotation(rotation.camera, rotation.tube)
      : rotation.rotationWhy,
    sag.sag === null ? sag.sagWhy : saySag(sag.sag),
  ]
    .filter((text) => text !== "")
    .join(" ");
  return { tests: group.map(({ test }) => test), ...rotation, ...sag, sentence };
}

type KnownTest = TiltTest & { tiltX: Quantity & { value: number }; tiltY: Quantity & { value: number } };

function isKnown(test: TiltTest): test is KnownTest {
  return test.signKnown && test.tiltX.value !== null && test.tiltY.value !== null;
}

function chooseGroup(tests: readonly TiltTest[]): KnownTest[] {
  const groups = new Map<string, KnownTest[]>();
  for (const test of tests.filter(isKnown)) groups.set(test.stack, [...(groups.get(test.stack) ?? []), test]);
  const angles = (group: KnownTest[]) => new Set(group.map(({ cameraAngleDeg }) => cameraAngleDeg)).size;
  return [...groups.values()].reduce(
    (best, group) =>
      angles(group) > angles(best) || (angles(group) === angles(best) && group.length > best.length)
        ? group
        : best,
    [] as KnownTest[],
  );
}

function readSigma(quantity: Quantity): number {
  return quantity.value === null ? Number.NaN : Math.max(1e-4, (quantity.hi - quantity.lo) / 3.92);
}

/** Rows for x and y of each test; `columns` gives the design's two rows. */
function fitVectors(
  tests: readonly KnownTest[],
  columns: number,
  design: (test: KnownTest) => [number[], number[]],
): { fit: LinearFit; reach: number; stretch: number } | null {
  const rows = tests.map(design);
  const fit = fitLeastSquares(
    rows.flatMap(([x, y]) => [...x, ...y]),
    tests.flatMap(({ tiltX, tiltY }) => [tiltX.value, tiltY.value]),
    columns,
    {
      weights: tests.flatMap(({ tiltX, tiltY }) => [readSigma(tiltX) ** -2, readSigma(tiltY) ** -2]),
      errorsFrom: "weights",
    },
  );
  if (fit === null) return null;
  const freedom = fit.degreesOfFreedom;
  // With no test to spare the intervals are those of the tests alone.
  const stretch = freedom > 0 ? Math.max(1, fit.residualSigma) : 1;
  const reach = stretch > 1 ? computeStudentQuantile(0.975, freedom) : 1.959963984540054;
  return { fit, reach, stretch };
}

function statePart(
  solved: { fit: LinearFit; reach: number; stretch: number },
  at: number,
  factor: number,
  diagonalMm: number,
  tests: number,
): TiltPart {
  const { fit, reach, stretch } = solved;
  const [x, y] = [fit.coefficients[at] * factor, fit.coefficients[at + 1] * factor];
  const sigma = (k: number) => Math.abs(factor) * stretch * fit.standardErrors[k];
  const [halfX, halfY] = [reach * sigma(at), reach * sigma(at + 1)];
  const size = Math.hypot(x, y);
  const [ux, uy] = size > 0 ? [x / size, y / size] : [1, 0];
  const half = Math.hypot(halfX * ux, halfY * uy);
  const turn = Math.hypot(halfX * uy, halfY * ux);
  // 5.991 / 3.841: the joint 95 % region of two against the interval of one.
  const told = (x / halfX) ** 2 + (y / halfY) ** 2 > 5.991 / 3.841;
  const angle = (Math.atan2(y, x) * 180) / Math.PI;
  const swing = (Math.atan2(turn, size) * 180) / Math.PI;
  return {
    x: makeMeasured(x, "um/mm", x - halfX, x + halfX, tests),
    y: makeMeasured(y, "um/mm", y - halfY, y + halfY, tests),
    across: makeMeasured(
      size * diagonalMm,
      "um",
      told ? Math.max(0, (size - half) * diagonalMm) : 0,
      (size + half) * diagonalMm,
      tests,
    ),
    direction: told
      ? makeMeasured(angle, "deg", angle - swing, angle + swing, tests)
      : makeUnknown("deg", "This part is not told apart from none, so it has no direction."),
  };
}

function separateRotation(
  group: readonly KnownTest[],
  diagonalMm: number,
): Pick<TiltSources, "camera" | "tube" | "rotationWhy"> {
  const turned = group.filter(({ cameraAngleDeg }) => cameraAngleDeg !== null);
  const refuse = (rotationWhy: string) => ({ camera: null, tube: null, rotationWhy });
  const angles = turned.map(({ cameraAngleDeg }) => cameraAngleDeg as number);
  const widest = Math.max(
    0,
    ...angles.flatMap((a) => angles.map((b) => Math.abs(((((a - b) % 360) + 540) % 360) - 180))),
  );
  if (turned.length < 2 || widest === 0) {
    return refuse(
      "All tests of this stack have one camera angle, so what turns with the camera is not told from what stays with the tube.",
    );
  }
  if (widest < leastTurnDeg) {
    return refuse(
      `The camera was turned by ${widest.toFixed(0)} degrees only; ${leastTurnDeg} or more, best 180, part the tilt of the camera from that of the tube.`,
    );
  }
  const solved = fitVectors(turned, 4, ({ cameraAngleDeg }) => {
    const angle = ((cameraAngleDeg as number) * Math.PI) / 180;
    const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
    // A vector that stays with the tube appears turned back in the camera's axes.
    return [
      [1, 0, cos, sin],
      [0, 1, -sin, cos],
    ];
  });
  if (solved === null) return refuse("The camera angles do not part the two tilts.");
  return {
    camera: statePart(solved, 0, 1, diagonalMm, turned.length),
    tube: statePart(solved, 2, 1, diagonalMm, turned.length),
    rotationWhy: "",
  };
}

function separateSag(group: readonly KnownTest[], diagonalMm: number): Pick<TiltSources, "sag" | "sagWhy"> {
  const angle = group[0].cameraAngleDeg;
  const same = group.filter((test) => test.altitudeDeg !== null && test.cameraAngleDeg === angle);
  const altitudes = same.map(({ altitudeDeg }) => altitudeDeg as number);
  const cosines = altitudes.map((altitude) => Math.cos((altitude * Math.PI) / 180));
  const spread = Math.max(...cosines) - Math.min(...cosines);
  if (same.length < 2) return { sag: null, sagWhy: "" };
  if (!(spread >= leastCosineSpread)) {
    return {
      sag: null,
      sagWhy: `The altitudes (${Math.min(...altitudes).toFixed(0)} to ${Math.max(...altitudes).toFixed(0)} degrees) are too close together to tell sag from a fixed tilt.`,
    };
  }
  const middle = cosines.reduce((sum, value) => sum + value, 0) / cosines.length;
  const solved = fitVectors(same, 4, ({ altitudeDeg }) => {
    const pull = Math.cos(((altitudeDeg as number) * Math.PI) / 180) - middle;
    return [
      [1, 0, pull, 0],
      [0, 1, 0, pull],
    ];
  });
  if (solved === null) return { sag: null, sagWhy: "The altitudes do not part sag from a fixed tilt." };
  const change = statePart(solved, 2, spread, diagonalMm, same.length);
  return { sag: { from: Math.max(...altitudes), to: Math.min(...altitudes), change }, sagWhy: "" };
}

/** A part that is told from none by value and interval, any other by the most that it may be. */
function sayAcross({ across, direction }: TiltPart): string {
  if (across.value === null) return "not known";
  if (direction.value === null) return `no more than ${across.hi.toFixed(0)} um`;
  return `${across.value.toFixed(0)} um (${across.lo.toFixed(0)} to ${across.hi.toFixed(0)})`;
}

function sayRotation(camera: TiltPart, tube: TiltPart): string {
  const told = (part: TiltPart) => part.direction.value !== null;
  if (!told(camera) && !told(tube))
    return "Neither a tilt that turns with the camera nor one that stays with the tube is told from none.";
  const action = !told(tube)
    ? " Adjust at the camera."
    : !told(camera)
      ? " Look at the focuser, the adapter and the corrector; the camera is square."
      : "";
  return `Of the tilt across the diagonal, ${sayAcross(camera)} turn with the camera and ${sayAcross(tube)} stay with the tube.${action}`;
}

function saySag(sag: NonNullable<TiltSources["sag"]>): string {
  if (sag.change.direction.value === null) {
    return `From ${sag.from.toFixed(0)} to ${sag.to.toFixed(0)} degrees of altitude the tilt does not change beyond its interval (${sayAcross(sag.change)} across the diagonal): no sag is seen.`;
  }
  return `From ${sag.from.toFixed(0)} to ${sag.to.toFixed(0)} degrees of altitude the tilt changes by ${sayAcross(sag.change)} across the diagonal: something sags.`;
}
