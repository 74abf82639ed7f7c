import { separateTilt } from "../field/tilt-sources.ts";
import type { TestResults, TrainResults } from "./results.ts";

/** The tilt of the train's tests by its source, from sweeps where there are, else from fields whose sign is told. */
export function findTiltSources(
  tests: readonly TestResults[],
): NonNullable<TrainResults["tiltSources"]> | null {
  const listed = tests.flatMap((test) => {
    const source = test.sweep ?? test.field;
    if (source === null) return [];
    return [
      {
        test: test.id,
        cameraAngleDeg: test.record.cameraAngleDeg,
        altitudeDeg: test.record.altitudeDeg,
        tiltX: source.tiltX,
        tiltY: source.tiltY,
        signKnown: test.sweep !== null || test.field?.signKnown === true,
        stack: `${[...(test.record.spacersMm ?? [])].sort().join("+")} ${test.record.filter ?? ""}`,
      },
    ];
  });
  if (listed.length < 2) return null;
  const { widthMm, heightMm } = tests[0].sensor;
  return separateTilt(listed, Math.hypot(widthMm, heightMm));
}
