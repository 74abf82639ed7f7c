import type { TestRecord, TrainRecord } from "../../lib/records/types.ts";
import { sampleReducedTrain } from "../fixtures/sample-trains.ts";

/** The invented reduced refractor, 805 mm x 0.79, 2 mm filter, 55 mm of back focus, its adjuster and tolerances left out. */
export function makeTrain(changes: Partial<TrainRecord> = {}): TrainRecord {
  return { ...sampleReducedTrain, adjuster: null, tolerances: {}, ...changes };
}

export function makeTest(changes: Partial<TestRecord> = {}): TestRecord {
  return {
    date: "2026-10-03",
    frames: ["frames/field-*.fits"],
    focusOffsetUm: 0,
    flats: [],
    bias: [],
    sweep: null,
    spacersMm: null,
    filter: null,
    cameraAngleDeg: null,
    altitudeDeg: null,
    zenithAngleDeg: null,
    starTable: null,
    edge: null,
    guiding: null,
    wind: null,
    conditions: {},
    notes: "",
    ...changes,
  };
}
