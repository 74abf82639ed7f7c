/** Builds the site of a content folder once, in a process of its own, and prints what it took, as JSON. */
import { buildFolder } from "../../lib/commands/build-folder.ts";

const [content, site] = process.argv.slice(2);
const start = performance.now();
const report = await buildFolder(content, site, () => {});
const { userCPUTime, systemCPUTime, maxRSS } = process.resourceUsage();
console.log(
  JSON.stringify({
    seconds: (performance.now() - start) / 1000,
    cpuSeconds: (userCPUTime + systemCPUTime) / 1e6,
    peakMb: maxRSS / 1024,
    reused: report.reused,
  }),
);
