import { describe, expect, it } from "vitest";
import { drawSection } from "../../lib/draw/draw-section.ts";
import { computeBeamEdge, findTightestPart, makeSection } from "../../lib/draw/section-geometry.ts";
import { estimateTextWidth } from "../../lib/draw/text-width.ts";
import { makeRandom } from "../../lib/maths/random.ts";
import type { TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const [sample] = makeSampleResults();

/** The sample train with a stack of the given lengths from the corrector to the camera. */
function withStack(lengthsMm: readonly number[], name = (k: number) => `ring ${k + 1}`): TrainResults {
  const mechanical = lengthsMm.reduce((sum, mm) => sum + mm, 0);
  let fromSensorMm = mechanical;
  const lines = lengthsMm.map((lengthMm, k) => {
    const line = {
      part: name(k),
      lengthMm,
      plateShiftMm: 0,
      fromSensorMm,
      clearDiameterMm: k % 4 === 3 ? null : 46 - k,
    };
    fromSensorMm -= lengthMm;
    return line;
  });
  const measured = { value: mechanical, unit: "mm" as const, lo: mechanical, hi: mechanical, n: 1 };
  return { ...sample, backFocus: { ...sample.backFocus!, mechanical: measured, lines } };
}

interface Box {
  text: string;
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** Boxes of all texts at the larger letters of a phone: ascent 0.75 em, descent 0.22 em. */
function listTextBoxes(svg: string): Box[] {
  const size = 14.5;
  return [...svg.matchAll(/<text x="([-\d.]+)" y="([-\d.]+)"([^>]*)>([^<]*)<\/text>/g)].map((match) => {
    const [x, y] = [Number(match[1]), Number(match[2])];
    const text = match[4]
      .replaceAll("&lt;", "<")
      .replaceAll("&gt;", ">")
      .replaceAll("&quot;", '"')
      .replaceAll("&amp;", "&");
    const width = estimateTextWidth(text, size);
    const left = match[3].includes('"middle"') ? x - width / 2 : match[3].includes('"end"') ? x - width : x;
    return { text, left, right: left + width, top: y - 0.75 * size, bottom: y + 0.22 * size };
  });
}

function listOverlaps(boxes: readonly Box[]): string[] {
  return boxes.flatMap((a, k) =>
    boxes
      .slice(k + 1)
      .filter((b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
      .map((b) => `${a.text} | ${b.text}`),
  );
}

describe("computeBeamEdge(section, height, distance)", () => {
  const frame = {
    mechanicalMm: 55,
    requiredMm: 55,
    halfDiagonalMm: 14,
    focalRatio: 5,
    exitPupilMm: null,
    correctorName: null,
  };

  it("is 14 mm at the sensor and 9 to 19 mm at 50 mm before it at f/5, telecentric", () => {
    expect(computeBeamEdge(frame, 14, 0)).toEqual([14, 14]);
    expect(computeBeamEdge(frame, 14, 50)).toEqual([9, 19]);
  });

  it("follows the chief ray to an exit pupil 200 mm away: centre at 10.5 mm, 50 mm before the sensor", () => {
    const [low, high] = computeBeamEdge({ ...frame, exitPupilMm: 200 }, 14, 50);
    expect((low + high) / 2).toBeCloseTo(10.5, 12);
  });
});

describe("drawSection(results)", () => {
  it.each([2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12])(
    "draws %i parts with no label over another or out of the picture",
    (count) => {
      const random = makeRandom(count);
      for (let run = 0; run < 20; run++) {
        const lengths = Array.from({ length: count }, () =>
          random() < 0.4 ? 0.1 + random() : 2 + random() * 20,
        );
        const figure = drawSection(
          withStack(lengths, (k) => `part ${k} of a long name that no legend has room for`),
        );
        const boxes = listTextBoxes(figure?.svg ?? "");
        expect(boxes.length).toBeGreaterThan(count * 4);
        expect(listOverlaps(boxes)).toEqual([]);
        for (const box of boxes) {
          expect(box.left).toBeGreaterThanOrEqual(0);
          expect(box.right).toBeLessThanOrEqual(480);
        }
      }
    },
  );

  it("draws along and across to one scale: widths and apertures of the walls in the ratio of the record", () => {
    const figure = drawSection(withStack([20, 10, 25]));
    const rects = [
      ...(figure?.svg ?? "").matchAll(
        /<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" fill="url/g,
      ),
    ];
    const [upper, lower] = rects.map((match) => match.slice(1).map(Number));
    const unitsPerMm = upper[2] / 20;
    expect(lower[1] - (upper[1] + upper[3])).toBeCloseTo(46 * unitsPerMm, 1);
    expect(rects.map((match) => Number(match[3]) / unitsPerMm)).toEqual(
      [20, 20, 10, 10, 25, 25].map((mm) => expect.closeTo(mm, 2)),
    );
  });

  it("states an error of -0.68 mm as 0.68 mm shorter and too close", () => {
    const figure = drawSection(makeSampleResults()[0]);
    expect(figure?.title).toBe("The stack is 0.68\u00a0mm shorter than the required back focus");
    expect(figure?.svg).toContain("actual 55.00 mm, error −0.68 mm: too close");
  });

  it("marks a ring of 30 mm where the corner's light needs more, and names it as the narrowest", () => {
    const results = withStack([20, 17.5, 17.5]);
    results.backFocus!.lines[1].clearDiameterMm = 30;
    const tightest = findTightestPart(makeSection(results)!);
    expect(tightest?.part.name).toBe("ring 2");
    expect(tightest?.roomMm).toBeLessThan(0);
    expect(drawSection(results)?.svg).toContain("&lt; 30.0");
  });

  it("draws a train without corrector from its record: 32 + 20 + 17.5 mm", () => {
    const section = makeSection(makeSampleResults()[1]);
    expect(section?.mechanicalMm).toBe(69.5);
    expect(section?.requiredMm).toBeNull();
    expect(section?.parts.map(({ farMm }) => farMm)).toEqual([69.5, 37.5, 17.5]);
  });

  it("is null for a record that says nothing of lengths", () => {
    const results = makeSampleResults()[1];
    expect(drawSection({ ...results, train: null })).toBeNull();
    expect(drawSection({ ...results, train: { stack: "none", camera: 3 } })).toBeNull();
  });
});
