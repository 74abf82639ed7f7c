import { describe, expect, it } from "vitest";
import { countEdits, findNearest, sortByNearness } from "../../lib/maths/edit-distance.ts";
import { makeRandom } from "../../lib/maths/random.ts";
import { isRealDate, suggestDate } from "../../lib/records/calendar-date.ts";
import { isSafeId, makeSafeId } from "../../lib/records/name-id.ts";
import { CAMERA_KEYS, RING_KEYS, TELESCOPE_KEYS } from "../../lib/records/part-keys.ts";
import { suggestNumber, suggestRange } from "../../lib/records/suggest-number.ts";
import { TOLERANCE_KEYS } from "../../lib/records/train-keys.ts";

describe("countEdits", () => {
  // kitten/sitting = 3 is the textbook example of Levenshtein's distance; "ca"/"abc" = 3 in the restricted form
  // (2 in the unrestricted one), from memory.
  it.each([
    ["kitten", "sitting", 3],
    ["ca", "abc", 3],
    ["factor", "fcator", 1],
    ["", "abc", 3],
    ["same", "same", 0],
  ])("counts %s to %s as %i edits", (from, to, edits) => {
    expect(countEdits(from, to)).toBe(edits);
  });

  it("agrees with a plain recursive twin on 300 random words (seed 7)", () => {
    const twin = (a: string, b: string): number => {
      if (a === "" || b === "") return a.length + b.length;
      const same = a.at(-1) === b.at(-1) ? 0 : 1;
      let best = Math.min(
        twin(a.slice(0, -1), b) + 1,
        twin(a, b.slice(0, -1)) + 1,
        twin(a.slice(0, -1), b.slice(0, -1)) + same,
      );
      if (a.length > 1 && b.length > 1 && a.at(-1) === b.at(-2) && a.at(-2) === b.at(-1)) {
        best = Math.min(best, twin(a.slice(0, -2), b.slice(0, -2)) + 1);
      }
      return best;
    };
    const random = makeRandom(7);
    const word = () =>
      Array.from({ length: Math.floor(random() * 6) }, () => "abc"[Math.floor(random() * 3)]).join("");
    for (let i = 0; i < 300; i++) {
      const [a, b] = [word(), word()];
      expect(countEdits(a, b)).toBe(twin(a, b));
      expect(countEdits(a, b)).toBe(countEdits(b, a));
    }
  });
});

describe("findNearest", () => {
  const words = Object.keys(CAMERA_KEYS);
  it.each([
    ["pixelPitch", "pixelPitchUm"],
    ["pixelpitchum", "pixelPitchUm"],
    ["pixlePitchUm", "pixelPitchUm"],
    ["flange", "flangeMm"],
    ["hieghtPx", "heightPx"],
  ])("takes %s for a slip of %s", (slip, word) => {
    expect(findNearest(slip, words)).toBe(word);
  });

  it("offers nothing for a word that is like none, or endless", () => {
    expect(findNearest("telescope", words)).toBeNull();
    expect(findNearest("pixelPitchUm".repeat(1000), words)).toBeNull();
    expect(findNearest("x", [])).toBeNull();
  });

  it("sorts ids nearest first", () => {
    expect(sortByNearness("tarn-115", ["heron", "tarn-80", "tarn-115-b"])).toEqual([
      "tarn-115-b",
      "tarn-80",
      "heron",
    ]);
  });
});

describe("dates", () => {
  it("knows leap years: 2024 and 2000 have a 29 February, 2026 and 2100 have none", () => {
    expect(["2024", "2000", "2026", "2100"].map((year) => isRealDate(`${year}-02-29`))).toEqual([
      true,
      true,
      false,
      false,
    ]);
  });
  it.each([
    ["2026-02-30", "28 days"],
    ["2026-13-01", "01 to 12"],
    ["2026/10/3", "write 2026-10-03"],
    ["3.10.2026", "write 2026-10-03"],
    ["03/10/2026", "year-month-day"],
    ["2026-10-03T22:15", "write 2026-10-03"],
    ["tonight", "year-month-day"],
  ])("mends %s: %s", (text, fix) => {
    expect(isRealDate(text)).toBe(false);
    expect(suggestDate(text)).toContain(fix);
  });
});

describe("names", () => {
  it.each([
    ["Tarnlight 115 / R79", "tarnlight-115-r79"],
    ["../../etc/passwd", "etc-passwd"],
    ["/absolute", "absolute"],
    ["<script>alert('x')</script>", "script-alert-x-script"],
    ['4" "Fern" f5.6', "4-fern-f5.6"],
    ["Größe Übung", "grosse-ubung"],
    ["con", "train-con"],
    ["a\u0000b\u001bc", "a-b-c"],
  ])("makes %j the safe id %s", (name, id) => {
    expect(makeSafeId(name)).toBe(id);
    expect(isSafeId(id)).toBe(true);
  });

  it("cuts 300 characters to at most 64 and gives up where nothing can be kept", () => {
    expect(makeSafeId("x".repeat(300))).toHaveLength(64);
    expect(makeSafeId("Телескоп")).toBeNull();
    expect(makeSafeId("...")).toBeNull();
  });

  it.each(["..", ".hidden", "a/b", "a\\b", "a b", "x".repeat(65), "", "nul", "com1.yaml", "a..b", "a.", "é"])(
    "refuses %j as an id",
    (name) => {
      expect(isSafeId(name)).toBe(false);
    },
  );
});

describe("numbers mended", () => {
  it.each([
    [CAMERA_KEYS.pixelPitchUm, "3.76um", "write 3.76, the number alone: it is in um"],
    [CAMERA_KEYS.pixelPitchUm, "3.76 µm", "write 3.76, the number alone: it is in um"],
    [CAMERA_KEYS.pixelPitchUm, "3760 nm", "write 3.76, the number alone: it is in um"],
    [CAMERA_KEYS.pixelPitchUm, "3,76", "write 3.76: decimals take a point, not a comma"],
    [CAMERA_KEYS.pixelPitchUm, "3.76", "write 3.76, without quotes"],
    [RING_KEYS.clearDiameterMm, '2"', "write 50.8, the number alone: it is in mm"],
    [TELESCOPE_KEYS.focalLengthMm, "0.805 m", "write 805, the number alone: it is in mm"],
    [CAMERA_KEYS.pixelPitchUm, "3760", null],
    [CAMERA_KEYS.pixelPitchUm, "small", null],
  ])("of %# text %s", (meaning, text, fix) => {
    expect(suggestNumber(meaning, text)).toBe(fix);
  });

  it.each([
    [CAMERA_KEYS.pixelPitchUm, 3760, "3760 nm is 3.76 um, a factor of 1000: write 3.76"],
    [CAMERA_KEYS.pixelPitchUm, 0.00376, "0.00376 mm is 3.76 um, a factor of 1000: write 3.76"],
    [TELESCOPE_KEYS.focalLengthMm, 0.805, "0.805 m is 805 mm, a factor of 1000: write 805"],
    [RING_KEYS.clearDiameterMm, 2, "2 in is 50.8 mm: write 50.8; or 2 cm is 20 mm: write 20"],
    [TOLERANCE_KEYS.cornerLightPercent, 0.6, "0.6 as a fraction is 60 percent: write 60"],
    [CAMERA_KEYS.widthPx, 6248.5, "write a whole number of px"],
    [CAMERA_KEYS.widthPx, -5, "give the value anew, in px"],
  ])("of %# number %d", (meaning, value, fix) => {
    expect(suggestRange(meaning, value)).toBe(fix);
  });
});
