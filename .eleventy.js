import { tsImport } from "tsx/esm/api";

/**
 * Wiring only, for `npx @11ty/eleventy`: records and stored measurements from CONTENT (default `content`) to the pages in
 * SITE_OUT (default `_site`). The library is imported afresh on each run, so that `--serve` sees changes of it.
 */
export default async function configure(config) {
  const load = (path) => tsImport(path, import.meta.url);
  const { read, analyse, report } = await load("./lib/pipeline.ts");
  const { readMeasurements } = await load("./lib/commands/measure-content.ts");
  const { nameTest } = await load("./lib/commands/measure-needs.ts");
  const { nameSoftware } = await load("./lib/commands/build-content.ts");
  const { wireEleventy } = await load("./lib/site/wire-eleventy.ts");

  const outDir = process.env.SITE_OUT ?? "_site";
  const content = await read(process.env.CONTENT ?? "content");
  const measurements = await readMeasurements(content);
  const software = await nameSoftware();
  const find = (train, test) => measurements.get(nameTest(train, test)) ?? null;
  const trains = content.trains.map((train) => ({
    results: report(train, analyse(train, find), content, software),
    dir: train.dir,
    cropDirs: Object.fromEntries(train.tests.map((test) => [test.id, test.dir])),
  }));
  await wireEleventy(config, { trains, site: content.site, outDir });
  config.addWatchTarget("./lib/", { resetConfig: true });
  config.addWatchTarget("./templates/", { resetConfig: true });
  return { dir: { input: "templates/pages", includes: "../parts", output: outDir } };
}
