import type { SiteRecord } from "../records/types.ts";
import type { Comparison, TrainResults } from "../report/results.ts";
import { type ComparisonLink, listComparisons } from "./compared-with.ts";
import { joinByline, readTrainRecord } from "./describe-train.ts";
import { formatDate, formatFocalRatio, formatQuantity } from "./format-number.ts";
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
  comparisons: ComparisonLink[];
}

const unknownWidth = { value: null, unit: "arcsec" as const, why: "No star field measured yet." };

const unknownRatio = { value: null, unit: "ratio" as const, why: "No star field measured yet." };

function sayField({ sampling: { fieldWidth, fieldHeight } }: TrainResults): string | null {
  if (fieldWidth.value === null || fieldHeight.value === null) return null;
  return `${fieldWidth.value.toFixed(2)}° × ${fieldHeight.value.toFixed(2)}°`;
}

/** A train's line of the index: as read, and as data. */
export interface IndexRow {
  cells: PageTable["rows"][number];
  data: (string | number | null)[];
}

export function makeIndexRow(results: TrainResults): IndexRow {
  const { telescope, corrector, camera } = readTrainRecord(results);
  const { focalRatio, imageScale } = results.sampling;
  const lastTest = sortNewestFirst(results.tests)[0];
  const zones = findLatestStars(results)?.zones;
  const centre = zones?.centre.fwhm.arcsec ?? unknownWidth;
  const corner = zones?.corner.fwhm.arcsec ?? unknownWidth;
  const overCentre = findLatestStars(results)?.contrasts?.overCentre.corner ?? unknownRatio;
  const { fieldWidth, fieldHeight } = results.sampling;
  const findings = countFindings(results.findings);
  return {
    cells: [
      makeTextCell(results.name, `trains/${results.id}/index.html`),
      makeTextCell(telescope.name),
      makeTextCell(corrector === null ? "none" : corrector.name),
      makeTextCell(camera.name),
      {
        ...makeTextCell(focalRatio.value === null ? null : formatFocalRatio(focalRatio.value)),
        sort: focalRatio.value,
      },
      { ...makeTextCell(formatQuantity(imageScale)), sort: imageScale.value },
      { ...makeTextCell(sayField(results)), sort: results.sampling.fieldDiagonal.value },
      {
        ...makeTextCell(lastTest === undefined ? "none yet" : formatDate(lastTest.date)),
        sort: lastTest?.date ?? null,
      },
      makeQuantityCell(centre),
      makeQuantityCell(corner),
      makeQuantityCell(overCentre),
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
      fieldWidth.value,
      fieldHeight.value,
      lastTest?.date ?? null,
      ...listQuantityCells(centre),
      ...listQuantityCells(corner),
      ...listQuantityCells(overCentre),
      findings,
    ],
  };
}

/** The site's name, as it stands at the head of every page. */
export function nameSite(site: SiteRecord): string {
  return site.title === "" ? "Optical trains" : site.title;
}

/** The index of trains, in the order given. */
export function makeIndexPage(
  rows: readonly IndexRow[],
  site: SiteRecord,
  comparisons: readonly Comparison[] = [],
): IndexPage {
  // The table's remarks are marked in its cells: the rows given stay as they are.
  const page = makePage(structuredClone([...rows]), site, comparisons);
  finishTables([page.table]);
  return page;
}

function makePage(
  rows: readonly IndexRow[],
  site: SiteRecord,
  comparisons: readonly Comparison[],
): IndexPage {
  return {
    title: nameSite(site),
    byline: joinByline(site.author, site.club),
    address: /^https?:\/\//i.test(site.baseUrl) ? `${site.baseUrl.replace(/\/+$/, "")}/` : null,
    count: rows.length,
    comparisons: listComparisons(comparisons, ""),
    table: {
      id: "tbl-trains",
      number: 0,
      sortable: true,
      remarks: [],
      caption:
        "Optical trains tested: what each is made of, when it was last tested and how wide its stars are",
      note: "Star widths are medians of the last test with stars, on the sky, with their 95 % intervals. Across nights only “corners over centre” compares optics rather than air.",
      columns: [
        makeColumn("Train"),
        makeColumn("Telescope"),
        makeColumn("Corrector"),
        makeColumn("Camera"),
        makeColumn("Focal ratio", true),
        makeColumn("Scale", true),
        makeColumn("Field", true),
        makeColumn("Last test"),
        makeColumn("FWHM, centre", true),
        makeColumn("FWHM, corners", true),
        makeColumn("Corners over centre", true),
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
            "field_width_deg",
            "field_height_deg",
            "last_test",
          ].map((key) => ({ key, heading: key })),
          ...listQuantityKeys("fwhm_centre", "arcsec"),
          ...listQuantityKeys("fwhm_corner", "arcsec"),
          ...listQuantityKeys("corner_over_centre", "ratio"),
          { key: "findings", heading: "findings" },
        ],
        rows: rows.map(({ data }) => data),
      },
    },
  };
}
