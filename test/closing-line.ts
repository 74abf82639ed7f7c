import type { Reporter, TestModule } from "vitest/node";

/** Ends a run with one plain line of counts, the same whatever colours or summaries the runner prints above it. */
export default class ClosingLine implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], errors: readonly unknown[]): void {
    const counts = { passed: 0, failed: 0, skipped: 0 };
    for (const module of modules) {
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        if (state !== "pending") counts[state]++;
      }
      // A file that could not be loaded has no tests to count, and must not look like a pass.
      if (module.state() === "failed" && module.errors().length > 0) counts.failed++;
    }
    counts.failed += errors.length;
    const skipped = counts.skipped > 0 ? `, ${counts.skipped} skipped` : "";
    console.log(`tests: ${counts.passed} passed, ${counts.failed} failed${skipped}`);
  }
}
