import { formatFault } from "../fault.ts";
import type { ModuleGraph } from "../site/module-graph.ts";
import { buildFolder } from "./build-folder.ts";
import { describeFailure } from "./run-command.ts";

/** What the live view asks of its builder, and what it hears. */
export interface LiveRequest {
  contentDir: string;
  outDir: string;
}
export interface LiveAnswer {
  /** The faults as text, place and mending included; null where the site was built. */
  faults: string | null;
  /** Where a train's page was made anew. */
  steps: string[];
}

/** `graph`: the state of the sources that the program was made from. */
export type LiveBuild = (request: LiveRequest, graph?: ModuleGraph) => Promise<LiveAnswer>;

/** Builds for the live view, without what only a published site needs. */
export const buildLive: LiveBuild = async ({ contentDir, outDir }, graph) => {
  const steps: string[] = [];
  try {
    await buildFolder(contentDir, outDir, (line) => steps.push(line), {
      quick: true,
      ...(graph === undefined ? {} : { graph }),
    });
    return { faults: null, steps };
  } catch (error) {
    return { faults: describeFailure(error).map(formatFault).join("\n"), steps };
  }
};
