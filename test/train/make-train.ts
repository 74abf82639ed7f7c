import type { TestRecord, TrainRecord } from "../../lib/records/types.ts";

/** An invented reduced refractor: 805 mm x 0.79, 2 mm filter, 55 mm of back focus. */
export function makeTrain(changes: Partial<TrainRecord> = {}): TrainRecord {
  return {
    name: "Tarnlight 115 with reducer",
    telescope: { name: "Tarnlight 115", apertureMm: 115, focalLengthMm: 805, obstructionMm: 0 },
    corrector: {
      name: "Tarnlight R79",
      kind: "reducer",
      factor: 0.79,
      backFocusMm: 55,
      radialMeans: "unknown",
    },
    stack: [
      { part: "M54 ring", lengthMm: 16.5, clearDiameterMm: 50.5 },
      { spacersMm: [1.0], clearDiameterMm: 50.5 },
      { part: "filter drawer", lengthMm: 20, clearDiameterMm: 45, glass: { thicknessMm: 2, index: 1.517 } },
    ],
    camera: {
      name: "Heron 26",
      widthPx: 6248,
      heightPx: 4176,
      pixelPitchUm: 3.76,
      flangeMm: 17.5,
      windowGlass: { thicknessMm: 0, index: 1.517 },
    },
    spacersOwnedMm: [0.1, 0.2, 0.3, 0.5, 1.0],
    adjuster: null,
    tolerances: {},
    ...changes,
  };
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
    starTable: null,
    guiding: null,
    wind: null,
    conditions: {},
    notes: "",
    ...changes,
  };
}
