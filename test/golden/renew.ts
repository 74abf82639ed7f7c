/** `npm run golden`: stores the site that the golden content gives now. Look through the change before you commit it. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import {
  buildGolden,
  copyGoldenContent,
  digest,
  digestFile,
  type GoldenDigests,
  goldenDir,
  isStoredAsText,
  leaveOutStyle,
  nodeLine,
} from "./golden-site.ts";

const scratch = mkdtempSync(join(tmpdir(), "rig-report-golden-"));
try {
  copyGoldenContent(join(scratch, "content"));
  const built = buildGolden(join(scratch, "content"), join(scratch, "site"), {});
  rmSync(goldenDir, { recursive: true, force: true });
  const digests: GoldenDigests = { node: nodeLine, files: {} };
  for (const [path, bytes] of built) {
    digests.files[path] = digest(bytes);
    if (!isStoredAsText(path)) continue;
    mkdirSync(dirname(join(goldenDir, path)), { recursive: true });
    writeFileSync(join(goldenDir, path), leaveOutStyle(path, bytes.toString("utf8")));
  }
  writeFileSync(digestFile, `${JSON.stringify(digests, null, 2)}\n`);
  console.log(`${built.size} files of the golden site are stored; git diff test/golden shows what changed`);
} finally {
  rmSync(scratch, { recursive: true, force: true });
}
