import type { SiteRecord } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import { joinByline, readTrainRecord } from "./describe-train.ts";
import { formatDate, formatPlain, formatQuantity } from "./format-number.ts";
import { findLatestStars, sortNewestFirst } from "./key-numbers.ts";
import { countFindings } from "./list-findings.ts";
import type { PageTable } from "./page-table.ts";
import {
  finishTables,
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";

export interface IndexPage {
  title: string;
  byline: string;
  address: string | null;
  table: PageTable;
  count: number;
}

const unknownWidth = { value: null, unit: "arcsec" as const, why: "No star field measured yet." };

function makeRow(results: TrainResults): {
  cells: PageTable["rows"][number];
  data: (string | number | null)[];
} {
  const { telescope, corrector, camera } = readTrainRecord(results);
  const { focalRatio, imageScale } = results.sampling;
  const lastTest = sortNewestFirst(results.tests)[0];
  const zones = findLatestStars(results)?.zones;
  const centre = zones?.centre.fwhm.arcsec ?? unknownWidth;
  const corner = zones?.corner.fwhm.arcsec ?? unknownWidth;
  const findings = countFindings(results.findings);
  return {
    cells: [
      makeTextCell(results.name, `trains/${results.id}/index.html`),
      makeTextCell(telescope.name),
      makeTextCell(corrector === null ? "none" : corrector.name),
      makeTextCell(camera.name),
      makeTextCell(focalRatio.value === null ? null : `f/${formatPlain(focalRatio.value)}`),
      makeTextCell(formatQuantity(imageScale)),
      makeTextCell(lastTest === undefined ? "none yet" : formatDate(lastTest.date)),
      makeQuantityCell(centre),
      makeQuantityCell(corner),
      makeTextCell(findings),
    ],
    data: [
      results.id,
      results.name,
      telescope.name,
      corrector?.name ?? null,
      camera.name,
      focalRatio.value,
      imageScale.value,
      lastTest?.date ?? null,
      ...listQuantityCells(centre),
      ...listQuantityCells(corner),
      findings,
    ],
  };
}

/** The index of trains, in the order given. */
export function makeIndexPage(trains: readonly TrainResults[], site: SiteRecord): IndexPage {
  const page = makePage(trains, site);
  finishTables([page.table]);
  return page;
}

function makePage(trains: readonly TrainResults[], site: SiteRecord): IndexPage {
  const rows = trains.map(makeRow);
  return {
    title: site.title === "" ? "Optical trains" : site.title,
    byline: joinByline(site.author, site.club),
    address: /^https?:\/\//i.test(site.baseUrl) ? `${site.baseUrl.replace(/\/+$/, "")}/` : null,
    count: trains.length,
    table: {
      id: "tbl-trains",
      number: 0,
      remarks: [],
      caption:
        "Optical trains tested: what each is made of, when it was last tested and how wide its stars are",
      note: "Star widths are medians of the last test with stars, on the sky, with their 95 % intervals.",
      columns: [
        makeColumn("Train"),
        makeColumn("Telescope"),
        makeColumn("Corrector"),
        makeColumn("Camera"),
        makeColumn("Focal ratio", true),
        makeColumn("Scale", true),
        makeColumn("Last test"),
        makeColumn("FWHM, centre", true),
        makeColumn("FWHM, corners", true),
        makeColumn("Findings"),
      ],
      rows: rows.map(({ cells }) => cells),
      csv: {
        columns: [
          ...[
            "train",
            "name",
            "telescope",
            "corrector",
            "camera",
            "focal_ratio",
            "scale_arcsec_px",
            "last_test",
          ].map((key) => ({ key, heading: key })),
          ...listQuantityKeys("fwhm_centre", "arcsec"),
          ...listQuantityKeys("fwhm_corner", "arcsec"),
          { key: "findings", heading: "findings" },
        ],
        rows: rows.map(({ data }) => data),
      },
    },
  };
}
