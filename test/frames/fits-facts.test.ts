import { describe, expect, it } from "vitest";
import { readFitsFacts } from "../../lib/frames/fits-facts.ts";
import { parseFitsHeader } from "../../lib/frames/fits-header.ts";
import { computeAxisScalesArcsec, computeNorthAngleDeg, readWcsMatrix } from "../../lib/frames/fits-wcs.ts";
import { makeHeader } from "./fits-bytes.ts";

type Cards = Parameters<typeof makeHeader>[0];
const parse = (cards: Cards) => parseFitsHeader(makeHeader(cards));

function read(cards: Cards, heightPx = 100) {
  const warnings: string[] = [];
  return { facts: readFitsFacts(parse(cards), heightPx, warnings), warnings };
}

const celestial: Cards = [
  ["CTYPE1", "RA---TAN"],
  ["CTYPE2", "DEC--TAN"],
];

describe("readFitsFacts", () => {
  it("reads what capture programs write", () => {
    const { facts, warnings } = read([
      ["EXPTIME", 60],
      ["XPIXSZ", 3.76],
      ["XBINNING", 1],
      ["FOCALLEN", 805],
      ["FILTER", "clear"],
      ["DATE-OBS", "2026-10-03T21:15:00"],
      ["EGAIN", 0.8],
      ["RDNOISE", 1.5],
      ["SATURATE", 65000],
      ["FOCUSPOS", 12345],
      ["OBJCTALT", "62 30 00"],
      ["IMAGETYP", "Light Frame"],
    ]);
    expect(warnings).toEqual([]);
    expect(facts).toMatchObject({
      exposureS: 60,
      pixelPitchUm: 3.76,
      binning: 1,
      focalLengthMm: 805,
      filter: "clear",
      dateObs: "2026-10-03T21:15:00",
      gainElectronsPerAdu: 0.8,
      readNoiseElectrons: 1.5,
      saturationAdu: 65000,
      focuserPosition: 12345,
      altitudeDeg: 62.5,
      kind: "light",
      cfa: null,
      wcsScaleArcsecPerPx: null,
    });
    expect(facts.keywords["FOCUSPOS"]).toBe("12345");
    expect(facts.keywords["OBJCTALT"]).toBe("62 30 00");
  });

  it("is silent where the header is, and where a writer filled in 0", () => {
    const { facts, warnings } = read([
      ["FOCALLEN", 0],
      ["XPIXSZ", 0],
    ]);
    expect([facts.focalLengthMm, facts.pixelPitchUm, facts.exposureS, warnings]).toEqual([
      null,
      null,
      null,
      [],
    ]);
  });

  it("warns of a decimal comma and of a pixel of 3760 um instead of using them", () => {
    const { facts, warnings } = read(["FOCALLEN= '805,5'", ["XPIXSZ", 3760]]);
    expect([facts.focalLengthMm, facts.pixelPitchUm]).toEqual([null, null]);
    expect(warnings).toHaveLength(2);
    expect(warnings.join()).toContain("XPIXSZ (3760)");
  });

  it("warns of binning 2 x 1, whose pixels are not square", () => {
    const binned = (y: number) =>
      read([
        ["XBINNING", 2],
        ["YBINNING", y],
      ]);
    expect(binned(1).warnings.join()).toContain("2 x 1");
    expect(binned(2)).toMatchObject({ facts: { binning: 2 }, warnings: [] });
  });

  it("takes EGAIN alone as gain: GAIN is the camera's setting in many headers", () => {
    expect(read([["GAIN", 100]]).facts.gainElectronsPerAdu).toBeNull();
  });

  it("takes a number in quotes, EXPOSURE after EXPTIME, and DATAMAX after SATURATE", () => {
    const { facts } = read([
      ["EXPOSURE", "30.0"],
      ["DATAMAX", 4095],
    ]);
    expect([facts.exposureS, facts.saturationAdu]).toEqual([30, 4095]);
  });

  it("does not take the site's ALTITUDE in metres for the target's", () => {
    expect(read(["ALTITUDE=                   45 / [m] observatory"]).facts.altitudeDeg).toBeNull();
    expect(read(["ALTITUDE=                   45 / of the target"]).facts.altitudeDeg).toBe(45);
    expect(read([["ALTITUDE", 1200]]).facts.altitudeDeg).toBeNull();
  });

  it("tells kinds by the words in use, a dark for flats being a dark", () => {
    const kinds = ["LIGHT", "Flat Field", "Bias Frame", "zero", "Dark Frame", "DARKFLAT", "object", "focus"];
    expect(kinds.map((kind) => read([["IMAGETYP", kind]]).facts.kind)).toEqual([
      "light",
      "flat",
      "bias",
      "bias",
      "dark",
      "dark",
      "light",
      null,
    ]);
  });

  it("converts BAYERPAT to the displayed upper left: even and odd height, TOP-DOWN, offsets", () => {
    const bayer: Cards = [["BAYERPAT", "RGGB"]];
    expect(read(bayer, 100).facts.cfa).toBe("GBRG");
    expect(read(bayer, 101).facts.cfa).toBe("RGGB");
    expect(read([...bayer, ["ROWORDER", "TOP-DOWN"]], 100).facts.cfa).toBe("RGGB");
    expect(read([...bayer, ["XBAYROFF", 1]], 101).facts.cfa).toBe("GRBG");
    expect(read([...bayer, ["YBAYROFF", 1]], 101).facts.cfa).toBe("GBRG");
    const unknown = read([["BAYERPAT", "CYGM"]]);
    expect([unknown.facts.cfa, unknown.warnings.length]).toEqual([null, 1]);
  });
});

describe("world coordinates", () => {
  it("finds 0.4168703 arcsec per px on both axes where CDELT is 1 and PC has the scale (a public header)", () => {
    const cards: Cards = [
      ...celestial,
      ["CDELT1", 1],
      ["CDELT2", 1],
      ["PC1_1", 1.12212319481e-4],
      ["PC1_2", -2.85904573777e-5],
      ["PC2_1", 2.85904573777e-5],
      ["PC2_2", 1.12212319481e-4],
    ];
    const matrix = readWcsMatrix(parse(cards));
    for (const scale of computeAxisScalesArcsec(matrix!)) expect(scale).toBeCloseTo(0.4168703, 6);
    const { facts } = read(cards);
    expect(facts.wcsScaleArcsecPerPx).toBeCloseTo(0.4168703, 6);
    // Rows run upwards: north at (-CD1_2, CD1_1), 14.29420 degrees clockwise from up.
    expect(facts.wcsRotationDeg).toBeCloseTo(-14.2942, 4);
  });

  it("uses column norms, not row norms, where the axes' scales differ", () => {
    const turn = Math.PI / 6;
    const cards: Cards = [
      ...celestial,
      ["CD1_1", (-2 / 3600) * Math.cos(turn)],
      ["CD1_2", (1 / 3600) * Math.sin(turn)],
      ["CD2_1", (2 / 3600) * Math.sin(turn)],
      ["CD2_2", (1 / 3600) * Math.cos(turn)],
    ];
    const [x, y] = computeAxisScalesArcsec(readWcsMatrix(parse(cards))!);
    expect(x).toBeCloseTo(2, 9);
    expect(y).toBeCloseTo(1, 9);
    expect(read(cards).facts.wcsScaleArcsecPerPx).toBeCloseTo(Math.SQRT2, 9);
  });

  it("gives the same matrix by CD, by PC with CDELT and by CDELT with CROTA2 of 30 degrees", () => {
    const [dx, dy, turn] = [-4e-4, 4e-4, Math.PI / 6];
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const cd: Cards = [
      ["CD1_1", dx * c],
      ["CD1_2", -dy * s],
      ["CD2_1", dx * s],
      ["CD2_2", dy * c],
    ];
    const pc: Cards = [
      ["CDELT1", dx],
      ["CDELT2", dy],
      ["PC1_1", c],
      ["PC1_2", (-dy / dx) * s],
      ["PC2_1", (dx / dy) * s],
      ["PC2_2", c],
    ];
    const crota: Cards = [
      ["CDELT1", dx],
      ["CDELT2", dy],
      ["CROTA2", 30],
    ];
    const matrices = [cd, pc, crota].map((cards) => readWcsMatrix(parse([...celestial, ...cards]))!.flat());
    for (const matrix of matrices) {
      for (const [i, value] of matrix.entries()) expect(value).toBeCloseTo(matrices[0][i], 12);
    }
  });

  it("puts north up at 0, to the left at 90, and mirrors it for rows stored from the top", () => {
    const up = [
      [-1, 0],
      [0, 1],
    ] as const;
    const left = [
      [0, 1],
      [-1, 0],
    ] as const;
    expect(computeNorthAngleDeg(up, true)).toBe(0);
    expect(Math.abs(computeNorthAngleDeg(up, false))).toBe(180);
    // CD2_1 = -1: latitude grows towards -x.
    expect(computeNorthAngleDeg(left, true)).toBe(90);
    expect(
      computeNorthAngleDeg(
        [
          [0, -1],
          [-1, 0],
        ],
        true,
      ),
    ).toBe(90);
  });

  it("takes latitude first as well, and no axes that are not celestial or not in degrees", () => {
    const cd: Cards = [
      ["CD1_1", 0],
      ["CD1_2", 1e-3],
      ["CD2_1", -1e-3],
      ["CD2_2", 0],
    ];
    const swapped: Cards = [["CTYPE1", "DEC--TAN"], ["CTYPE2", "RA---TAN"], ...cd];
    expect(readWcsMatrix(parse(swapped))).toEqual([
      [-1e-3, 0],
      [0, 1e-3],
    ]);
    expect(readWcsMatrix(parse(cd))).toBeNull();
    expect(readWcsMatrix(parse([...celestial, ["CUNIT1", "arcsec"], ...cd]))).toBeNull();
    expect(readWcsMatrix(parse([...celestial]))).toBeNull();
    expect(readWcsMatrix(parse([...celestial, ["CD1_1", 1]]))).toBeNull();
  });
});
