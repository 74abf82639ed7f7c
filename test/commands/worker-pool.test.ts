import { afterAll, describe, expect, it } from "vitest";
import { hashMeasuringCode } from "../../lib/commands/bundle-code.ts";
import { makeWorkerPool } from "../../lib/commands/worker-pool.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import { runInline, type StarTask } from "../../lib/stars/star-task.ts";
import { STAR_TASKS } from "../../lib/stars/tasks.ts";
import { drawField } from "./draw-frames.ts";

const pool = makeWorkerPool(2);
afterAll(() => pool.close());

describe("measuring threads", () => {
  it("give the very numbers that the same work in place gives", async () => {
    const { widthPx, heightPx, samples } = drawField({
      sky: 3,
      seed: 1,
      stars: 60,
      widthPx: 400,
      heightPx: 300,
    });
    const shared = new Uint16Array(new SharedArrayBuffer(samples.byteLength));
    shared.set(samples);
    const plane = { widthPx, heightPx, samples: shared, sites: [true, true, true, true] as const };
    const noise = { gainElectronsPerAdu: 1, readNoiseElectrons: 5, saturationAdu: 60_000 };
    const inPlace = await measurePlane(plane, "L", noise, runInline);
    const onThreads = await measurePlane(plane, "L", noise, pool.run);
    // What was learned holds a function; the ellipticities that it corrects are among the stars' columns.
    expect({ ...onThreads, learned: onThreads.learned.field }).toEqual({
      ...inPlace,
      learned: inPlace.learned.field,
    });
    expect(inPlace.stars.flags.length).toBeGreaterThan(40);
  });

  it("hand on what a task throws, and go on with the next call", async () => {
    const wrong: StarTask<unknown, unknown> = { name: STAR_TASKS[0].name, run: () => null };
    await expect(pool.run(wrong, [{}, {}])).rejects.toThrow();
    const unknown: StarTask<unknown, unknown> = { name: "no such task", run: () => null };
    await expect(pool.run(unknown, [1, 2])).rejects.toThrow(/no task "no such task"/);
  });

  it("refuse work once they have been ended", async () => {
    const ended = makeWorkerPool(2);
    await ended.close();
    await expect(ended.run({ name: "any", run: () => null }, [1, 2])).rejects.toThrow(/ended/);
  });

  it("know every task by a name of its own", () => {
    const names = STAR_TASKS.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
  });
});

describe("the digest of the measuring code", () => {
  it("is the same twice over", async () => {
    expect(await hashMeasuringCode()).toBe(await hashMeasuringCode());
    expect(await hashMeasuringCode()).toMatch(/^[0-9a-f]{16}$/);
  });
});
