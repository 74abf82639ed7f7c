import { formatFault } from "../fault.ts";
import type { ModuleGraph } from "../site/module-graph.ts";
import { buildFolder } from "./build-folder.ts";
import { type ResidentMemory, useResidentMemory } from "./resident-memory.ts";
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

/** What outlives an edit of the program. */
export interface LiveSetting {
  /** The state of the sources that the program was made from. */
  graph: ModuleGraph;
  resident: ResidentMemory;
}

export type LiveBuild = (request: LiveRequest, setting?: LiveSetting) => Promise<LiveAnswer>;

/** The program as the builder's process loads it. */
export interface LiveProgram {
  build: (request: LiveRequest) => Promise<LiveAnswer>;
  /** Readies this process for an edit; see `rehearseLive`. */
  rehearse: (request: LiveRequest, isWanted: () => boolean) => Promise<void>;
}

export { rehearseLive } from "./rehearse-live.ts";

/** Builds for the live view, without what only a published site needs. */
export const buildLive: LiveBuild = async ({ contentDir, outDir }, setting) => {
  const steps: string[] = [];
  useResidentMemory(setting?.resident ?? null);
  try {
    await buildFolder(contentDir, outDir, (line) => steps.push(line), {
      quick: true,
      ...(setting === undefined ? {} : { graph: setting.graph }),
    });
    return { faults: null, steps };
  } catch (error) {
    return { faults: describeFailure(error).map(formatFault).join("\n"), steps };
  }
};
