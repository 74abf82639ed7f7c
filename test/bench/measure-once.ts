/**
 * Measures one frame from disk to star table with the threads of this machine and prints what it took, as JSON. Run in a
 * process of its own, so that its peak memory is the measuring's. The threads are started before the clock: they serve
 * any number of frames.
 */

import { makeWorkerPool } from "../../lib/commands/worker-pool.ts";
import { openFrame } from "../../lib/frames/open.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import { UNUSABLE } from "../../lib/stars/star-table.ts";

const [file, repeats] = [process.argv[2], Number(process.argv[3] ?? 3)];
const pool = makeWorkerPool();
await pool.run({ name: "warm", run: () => null }, [null]);
const seconds: number[] = [];
let stars = 0;
let usable = 0;
for (let i = 0; i < repeats; i++) {
  const start = performance.now();
  const frame = await openFrame(file, { cfa: "none" });
  const [plane] = frame.planes;
  const measured = await measurePlane(
    { widthPx: frame.widthPx, heightPx: frame.heightPx, samples: plane.samples, sites: plane.sites },
    plane.channel,
    {
      gainElectronsPerAdu: frame.header.gainElectronsPerAdu,
      readNoiseElectrons: frame.header.readNoiseElectrons,
      saturationAdu: frame.header.saturationAdu,
    },
    pool.run,
  );
  seconds.push((performance.now() - start) / 1000);
  stars = measured.stars.flags.length;
  usable = measured.stars.flags.filter((flag) => (flag & UNUSABLE) === 0).length;
}
await pool.close();
const peakMb = process.resourceUsage().maxRSS / 1024;
console.log(JSON.stringify({ seconds: Math.min(...seconds), first: seconds[0], peakMb, stars, usable }));
