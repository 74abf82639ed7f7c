import type { SiteRecord } from "../../records/types.ts";
import type { TrainResults } from "../../report/results.ts";
import { readTrainRecord } from "../describe-train.ts";
import { escapeJson } from "../escape-text.ts";
import { sortNewestFirst } from "../key-numbers.ts";
import { joinTrainAddress } from "./page-address.ts";

/** Names of what was measured, as a search for data may ask. */
const measured = [
  ["zones", "Star width (full width at half maximum) by zone of the field"],
  ["zones", "Ellipticity and radial elongation of stars"],
  ["field", "Tilt, curvature and astigmatism of the focal surface"],
  ["sweep", "Focal surface from a focus sweep"],
  ["illumination", "Light fall-off from the centre to the corners"],
  ["colour", "Lateral and longitudinal colour"],
] as const;

/**
 * The page in words for search engines (JSON-LD with the schema.org vocabulary): the data set that it publishes and the
 * review that it is. As text of a script element; nothing in it can end that element.
 */
export function makeLinkedData(results: TrainResults, site: SiteRecord, description: string): string {
  const address = joinTrainAddress(site, results.id);
  const tests = sortNewestFirst(results.tests);
  const [last, first] = [tests[0]?.date, tests.at(-1)?.date];
  const { telescope, corrector, camera } = readTrainRecord(results);
  const { author, club } = results.page;
  const people = [
    ...(author === "" ? [] : [{ "@type": "Person", name: author }]),
    ...(club === "" || club === author ? [] : [{ "@type": "Organization", name: club }]),
  ];
  const join = (file: string) => (address === null ? file : `${address}${file}`);
  const common = {
    ...(address === null ? {} : { url: address }),
    ...(people.length === 0 ? {} : { author: people }),
    ...(last === undefined ? {} : { datePublished: first, dateModified: last }),
    inLanguage: "en",
  };
  const variables = measured
    .filter(([part]) => results.tests.some((test) => test[part] !== null))
    .map(([, name]) => name);
  const data = {
    "@context": "https://schema.org",
    "@graph": [
      {
        "@type": "Dataset",
        name: `${results.name}: measurements`,
        description,
        ...common,
        ...(variables.length === 0 ? {} : { variableMeasured: variables }),
        distribution: [
          { "@type": "DataDownload", encodingFormat: "application/json", contentUrl: join("results.json") },
        ],
      },
      {
        "@type": "Review",
        name: results.name,
        ...common,
        itemReviewed: {
          "@type": "Product",
          name: results.name,
          category: "Optical train for astrophotography",
          isRelatedTo: [telescope.name, corrector?.name, camera.name]
            .filter((name) => name !== undefined)
            .map((name) => ({ "@type": "Product", name })),
        },
        reviewBody: results.findings.map(({ sentence }) => sentence).join(" ") || description,
      },
    ],
  };
  return escapeJson(data);
}
