import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { clearBand, plainExposure, plainOptics } from "../../../demo/simulator/presets.ts";
import { choosePsfSampling, preparePsfMaker } from "../../../demo/simulator/psf.ts";
import { measurePsfTruth } from "../../../demo/simulator/psf-truth.ts";

/** Half-maximum widths (um) along and across the radius of stars drawn by physical optics, against their two foci. */
const telescopes = [
  { name: "f/5.5", apertureMm: 115, focalLengthMm: 636, obstructionMm: 0, seeings: [1.8, 2.6, 3.4] },
  { name: "f/4 obstructed", apertureMm: 200, focalLengthMm: 800, obstructionMm: 70, seeings: [2.6] },
];
const stepUm = 20;
const count = 11;

const sets = telescopes.flatMap(({ seeings, ...telescope }) =>
  seeings.map((seeingArcsec) => {
    const optics = { ...plainOptics, ...telescope };
    const exposure = { ...plainExposure, seeingArcsec };
    const sampling = choosePsfSampling(optics, exposure, 3.76, stepUm * (count - 1));
    const maker = preparePsfMaker(optics, exposure, clearBand, sampling);
    // Row i: tangential focus at i steps; column j: sagittal at j - (count - 1) steps. Negating both changes nothing.
    const alongUm = Array.from({ length: count }, () => new Array<number>(2 * count - 1).fill(0));
    for (let i = 0; i < count; i++) {
      for (let j = -i; j <= i; j++) {
        const psf = maker.makePsf({
          tangentialUm: i * stepUm,
          sagittalUm: j * stepUm,
          meridianRad: 0,
          comaUm: 0,
          sphericalUm: 0,
        });
        const truth = measurePsfTruth(psf);
        if (truth === null) throw new Error(`no single blob at ${i} ${j}`);
        const um = psf.pixelPitchUm / psf.oversampling;
        const turned = Math.abs(Math.cos(truth.angleRad)) < Math.SQRT1_2;
        const [x, y] = turned ? [truth.fwhmMinor, truth.fwhmMajor] : [truth.fwhmMajor, truth.fwhmMinor];
        const sign = j < 0 ? -1 : 1;
        alongUm[i][j + count - 1] = Number((x * um).toFixed(4));
        alongUm[Math.abs(j)][sign * i + count - 1] = Number((y * um).toFixed(4));
      }
    }
    process.stderr.write(`${telescope.name} ${seeingArcsec}\n`);
    return { ...telescope, seeingArcsec, stepUm, alongUm };
  }),
);
const lines = sets.map((set) => JSON.stringify(set)).join(",\n");
writeFileSync(join(import.meta.dirname, "defocused-stars.json"), `[\n${lines}\n]\n`);
