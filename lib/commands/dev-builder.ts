import { formatFault } from "../fault.ts";
import { buildFolder } from "./build-folder.ts";
import { describeFailure } from "./run-command.ts";

/** What the live view asks of its builder, and what it hears. */
export interface DevRequest {
  contentDir: string;
  outDir: string;
}
export interface DevAnswer {
  /** The faults as text, place and mending included; null where the site was built. */
  faults: string | null;
  /** Where a train's page was made anew. */
  steps: string[];
}

/**
 * Builds for the live view in a process that stays: what is loaded once serves every edit of records, prose and styles.
 * An edit of the program itself ends the process, and the next one runs the new code.
 */
process.on("message", async ({ contentDir, outDir }: DevRequest) => {
  const steps: string[] = [];
  const answer: DevAnswer = { faults: null, steps };
  try {
    await buildFolder(contentDir, outDir, (line) => steps.push(line), { quick: true });
  } catch (error) {
    answer.faults = describeFailure(error).map(formatFault).join("\n");
  }
  process.send?.(answer);
});
