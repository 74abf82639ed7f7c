import { mkdtempSync, readFileSync, rmSync, statSync, truncateSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { makeDemoFrames } from "../../demo/make-frames.ts";
import { planDemoFrames } from "../../demo/plan.ts";
import { overlapCircles } from "../../demo/simulator/vignetting.ts";
import { encodeFits } from "../../demo/simulator/write-fits.ts";
import { openFrame } from "../../lib/frames/open.ts";

const dir = mkdtempSync(join(tmpdir(), "demo-frames-"));
afterAll(() => rmSync(dir, { recursive: true, force: true }));

/** The demo's first frame and its first colour frame, cut down to 400 x 300 px. */
const plans = [planDemoFrames()[0], planDemoFrames().find(({ camera }) => camera.cfa !== "none")!].map(
  (plan) => ({
    ...plan,
    camera: { ...plan.camera, widthPx: 400, heightPx: 300 },
  }),
);

describe("making the demo's frames", () => {
  it("draws what is missing, keeps what stands, and draws again what was cut short", async () => {
    const lines: string[] = [];
    const first = await makeDemoFrames(dir, { plans, onStep: (line) => lines.push(line) });
    expect(first.drawn).toEqual(plans.map(({ file }) => file).sort());
    expect(lines).toHaveLength(2);
    const second = await makeDemoFrames(dir, { plans });
    expect(second.drawn).toEqual([]);
    expect(second.kept).toHaveLength(2);
    truncateSync(join(dir, plans[0].file), 5000);
    const third = await makeDemoFrames(dir, { plans });
    expect(third.drawn).toEqual([plans[0].file]);
    expect(statSync(join(dir, plans[0].file)).size % 2880).toBe(0);
  });

  it("leaves truth beside each frame, one table per channel", () => {
    const truth = JSON.parse(
      readFileSync(join(dir, plans[1].file.replace(".fits", ".truth.json")), "utf8"),
    ) as {
      channels: Record<string, { xPx: number[]; fwhmMajorPx: number[] }>;
    };
    expect(Object.keys(truth.channels).sort()).toEqual(["B", "G", "R"]);
    expect(truth.channels["G"].xPx.length).toBe(truth.channels["G"].fwhmMajorPx.length);
  });

  it("writes frames that the project's own reader opens, the colour pattern as displayed", async () => {
    const mono = await openFrame(join(dir, plans[0].file));
    expect([mono.widthPx, mono.heightPx, mono.planes.length]).toEqual([400, 300, 1]);
    expect(mono.header.pixelPitchUm).toBe(3.76);
    expect(mono.header.exposureS).toBe(60);
    const colour = await openFrame(join(dir, plans[1].file));
    expect(colour.header.cfa).toBe("RGGB");
    expect(colour.planes.map(({ channel }) => channel).sort()).toEqual(["B", "G", "R"]);
  });

  it("plans eighteen lights, nine frames of a sweep, twelve flats, three of the Moon and eight bias frames, whose files all differ", () => {
    const files = planDemoFrames().map(({ file }) => file);
    expect(files.filter((file) => file.includes("/light-"))).toHaveLength(18);
    expect(files.filter((file) => file.includes("/sweep-"))).toHaveLength(9);
    expect(files.filter((file) => file.includes("/flat-"))).toHaveLength(12);
    expect(files.filter((file) => file.includes("/bias-"))).toHaveLength(8);
    expect(files.filter((file) => file.includes("/moon-"))).toHaveLength(3);
    expect(new Set(files).size).toBe(50);
  });

  it("moves the sensor of the sweep away by 1.6 um a step of the header, binned 2 x 2", () => {
    const sweep = planDemoFrames().filter(({ file }) => file.includes("/sweep-"));
    const read = (k: number, keyword: string) =>
      Number(sweep[k].header.find((card) => card.keyword === keyword)?.value);
    const steps = read(8, "FOCUSPOS") - read(0, "FOCUSPOS");
    const moved = sweep[8].optics.field.defocusUm - sweep[0].optics.field.defocusUm;
    expect(moved).toBeCloseTo(1.6 * steps, 9);
    expect([read(0, "XBINNING"), sweep[0].camera.widthPx, sweep[0].camera.pixelPitchUm]).toEqual([
      2, 3124, 7.52,
    ]);
  });
});

describe("a written FITS file", () => {
  // FITS Standard 4.0 (2018), sections 3.3.2 and 4.4.2.5; bottom row first.
  const image = { samples: Uint16Array.of(0, 1, 32768, 65535, 300, 40000), widthPx: 2, heightPx: 3 };
  const read = (file: Uint8Array): number[] => {
    const view = new DataView(file.buffer, 2880);
    return Array.from({ length: 6 }, (_, i) => view.getInt16(2 * i) + 32768);
  };

  it("stores the lower row first, big-endian with an offset of 32768, in blocks of 2,880 bytes", () => {
    const file = encodeFits(image, [], false);
    expect(file.length).toBe(5760);
    expect(read(file)).toEqual([300, 40000, 32768, 65535, 0, 1]);
  });

  it("stores the upper row first when told so and says it by ROWORDER", () => {
    const file = encodeFits(image, [{ keyword: "OBJECT", value: "O'Hara's field", comment: "" }], true);
    expect(read(file)).toEqual([0, 1, 32768, 65535, 300, 40000]);
    const header = new TextDecoder().decode(file.subarray(0, 2880));
    expect(header).toContain("ROWORDER= 'TOP-DOWN'");
    expect(header).toContain("'O''Hara''s field'");
    expect(header.length % 80).toBe(0);
  });
});

describe("light past a ring", () => {
  it("follows the overlap of two circles: 1.228370 for unit circles one radius apart", () => {
    // Elementary geometry: 2 pi / 3 - sqrt(3) / 2.
    expect(overlapCircles(1, 1, 1)).toBeCloseTo((2 * Math.PI) / 3 - Math.sqrt(3) / 2, 12);
    expect(overlapCircles(1, 0.5, 1)).toBeCloseTo(0.350767, 6);
  });
});
