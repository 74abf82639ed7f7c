import { roundFlats } from "../light/flats-digits.ts";
import { formatJson, storeFrame } from "../stars/encode-frame.ts";
import type { TestMeasurement } from "./test-measurement.ts";

/** The text of measured.json. The same measurement gives the same bytes. */
export function encodeMeasurement(measurement: TestMeasurement): string {
  const { frames, sweep, crops, flats, colour, edge, ...rest } = measurement;
  // The order is fixed here, so that the same measurement is the same bytes whoever put it together.
  const stored = {
    ...rest,
    frames: frames.map(storeFrame),
    sweep: sweep?.map(storeFrame),
    crops,
    colour,
    edge,
    flats: flats === undefined ? undefined : roundFlats(flats),
  };
  return `${formatJson(stored)}\n`;
}
