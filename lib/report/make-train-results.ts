import { posix } from "node:path";
import { makeLedger } from "../ledger/make-ledger.ts";
import { formatDate } from "../maths/format-date.ts";
import { MEASUREMENT_FORMAT } from "../measured/test-measurement.ts";
import type { Content, SourceText, TrainEntry } from "../records/types.ts";
import { computeBackFocus } from "../train/back-focus.ts";
import { listBackFocusExtras } from "../train/back-focus-extras.ts";
import { computeSolvedFocalLength } from "../train/focal-length.ts";
import { computeSampling, type MeasuredNights } from "../train/sampling.ts";
import { listSamplingExtras } from "../train/sampling-extras.ts";
import { applyTest } from "../train/stack.ts";
import { sumLengthMm, sumPrices, sumWeightG } from "../train/sum-equipment.ts";
import { findTiltSources } from "./find-tilt.ts";
import { listFindings } from "./findings.ts";
import { compareNightsFlats } from "./flat-agreement.ts";
import type { TestResults, TrainResults } from "./results.ts";

export interface TrainReportRequest {
  train: TrainEntry;
  /** The train's tests, in the order of their dates. */
  tests: TestResults[];
  content: Pick<Content, "site" | "siteSource">;
  /** Name and version of this software. */
  software: string;
}

function listSources({ train, content }: TrainReportRequest): SourceText[] {
  return [
    train.source,
    ...train.partSources,
    ...(content.siteSource === null ? [] : [content.siteSource]),
    ...(train.review === null ? [] : [train.review]),
    ...train.tests.map((test) => test.source),
  ];
}

/** Widths at the centre over the nights, and a plate solution's focal length where frames carry one. */
function readNights(tests: readonly TestResults[]): MeasuredNights {
  const widths = tests.flatMap((test) => (test.zones === null ? [] : [test.zones.centre.fwhm.px]));
  const solved = tests.findLast((test) => test.scale.from === "plate solution")?.scale;
  return {
    ...(widths.length > 0 ? { fwhmCentrePx: widths } : {}),
    ...(solved === undefined
      ? {}
      : { focalLengthMm: computeSolvedFocalLength(solved.arcsecPerPx, solved.umPerPx) }),
  };
}

function listCautions(tests: readonly TestResults[]): string[] {
  const cautions = tests.flatMap((test) =>
    test.warnings.map((warning) => `${formatDate(test.date)}: ${warning}`),
  );
  return [...new Set(cautions)];
}

/** The record with the stack of the latest night that has a test of its own. */
function findLatestState(train: TrainEntry, tests: readonly TestResults[]): TrainEntry["record"] {
  const latest = train.tests.find((test) => test.id === tests.at(-1)?.id);
  return latest === undefined ? train.record : applyTest(train.record, latest.record);
}

/** The filter's wavelength on record, of the latest test that states one. */
function findWavelengthNm(train: TrainEntry): number | undefined {
  return train.tests.findLast((test) => test.record.filter?.wavelengthNm !== undefined)?.record.filter
    ?.wavelengthNm;
}

/**
 * The results object of one train: everything its page, figures, tables and files are made from. Pure: the same records
 * and measurements give the same object.
 */
export function makeTrainResults(request: TrainReportRequest): TrainResults {
  const { train, tests, content, software } = request;
  const nights = readNights(tests);
  const wavelengthNm = findWavelengthNm(train);
  const sources = listSources(request);
  const results: TrainResults = {
    format: "rig-report-results/1",
    id: train.id,
    name: train.record.name,
    train: train.record,
    provenance: {
      software,
      measurementFormat: MEASUREMENT_FORMAT,
      records: sources.map(({ file, sha256 }) => ({ file, sha256 })),
      frames: tests.flatMap((test) =>
        test.frames.map(({ file, sha256 }) => ({
          file: posix.normalize(`trains/${train.id}/tests/${test.id}/${file}`),
          sha256,
        })),
      ),
    },
    sampling: computeSampling(train.record, nights, wavelengthNm),
    backFocus: computeBackFocus(train.record),
    tests,
    ledger: makeLedger(
      tests.map((test) => ({ test, folded: test.folded ?? null })),
      findLatestState(train, tests),
    ),
    tiltSources: findTiltSources(tests),
    flatAgreement: compareNightsFlats(tests),
    comparisons: [],
    findings: [],
    extras: {
      sampling: listSamplingExtras(train.record, nights, wavelengthNm),
      backFocus: listBackFocusExtras(train.record, nights, wavelengthNm),
    },
    equipment: {
      weightG: sumWeightG(train.record),
      lengthMm: sumLengthMm(train.record),
      prices: sumPrices(train.record),
    },
    page: {
      author: content.site.author,
      club: content.site.club,
      records: sources.filter((source) => source !== train.review).map(({ file, text }) => ({ file, text })),
      reviewMarkdown: train.review?.markdown ?? null,
      draft: train.review?.record.draft ?? false,
      summary: train.review?.record.summary ?? "",
      cautions: listCautions(tests),
    },
  };
  return { ...results, findings: listFindings(train, results) };
}
