import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["test/**/*.test.ts"],
    reporters: ["default", "./test/closing-line.ts"],
    testTimeout: 120_000,
    hookTimeout: 300_000,
    // Two cores on the machines this is built for; the browser and the measuring workers need room beside the runner.
    maxWorkers: 2,
  },
});
