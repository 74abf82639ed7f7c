/** Builds a site of many generated trains, then again with one record changed; prints what each took, as JSON. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { buildSite } from "../../lib/site/build-site.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";
import { makeSampleTrains, sampleSite } from "../site/sample-site.ts";

const count = Number(process.argv[2] ?? 1000);
const dir = mkdtempSync(join(tmpdir(), "bench-pages-"));
try {
  const mould = makeSampleResults();
  const results = Array.from({ length: count }, (_, i) => {
    const train = structuredClone(mould[i % mould.length]);
    return { ...train, id: `train-${i}`, name: `${train.name} no. ${i}` };
  });
  const trains = await makeSampleTrains(join(dir, "content"), results);
  const build = async () => {
    const start = performance.now();
    const report = await buildSite({ trains, site: sampleSite, outDir: join(dir, "site") });
    return { seconds: (performance.now() - start) / 1000, ...report };
  };
  const whole = await build();
  trains[0] = { ...trains[0], results: { ...trains[0].results, name: "Renamed" } };
  const again = await build();
  const peakMb = process.resourceUsage().maxRSS / 1024;
  console.log(
    JSON.stringify({ count, seconds: whole.seconds, again: again.seconds, pages: whole.pages, peakMb }),
  );
} finally {
  rmSync(dir, { recursive: true, force: true });
}
