import { evaluateFormula } from "../maths/formula.ts";
import type { Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import { airyFwhmFactor, computeAnnularWidths } from "./diffraction.ts";
import type { Extra } from "./extra.ts";
import { listTrainInputs, type MeasuredNights } from "./sampling.ts";

const airySource = "half-maximum of the Airy pattern (Born & Wolf, Principles of Optics, 8.5)";
const annularSource = "annular pupil (Born & Wolf, Principles of Optics, 8.6.2), solved numerically";

/** Star widths that diffraction alone gives; with an obstruction those of the annular aperture too. */
export function listDiffractionExtras(
  train: TrainRecord,
  measured: MeasuredNights,
  wavelengthNm: number,
): Extra[] {
  const { aperture, focalRatio, wavelength, pitch } = listTrainInputs(train, measured, wavelengthNm);
  const fwhm = evaluateFormula({
    formula: `${airyFwhmFactor} * lambda * N`,
    inputs: { lambda: wavelength, N: focalRatio },
    unit: "um",
    source: airySource,
    assumes: "A clear round aperture without aberrations.",
  });
  const extras: Extra[] = [
    {
      id: "diffractionFwhm",
      name: "Star width from diffraction, on the sensor",
      quantity: fwhm,
      explanation: "How wide a star would be at half its height if optics, air and tracking were perfect.",
    },
    {
      id: "diffractionFwhmPx",
      name: "Star width from diffraction, in pixels",
      quantity: evaluateFormula({
        formula: "w / p",
        inputs: { w: fwhm, p: pitch },
        unit: "px",
        source: "width over pixel pitch",
      }),
      explanation: "The same in pixels: about the narrowest star that this train can give.",
    },
    {
      id: "diffractionFwhmAngle",
      name: "Star width from diffraction, on the sky",
      quantity: evaluateFormula({
        formula: `${airyFwhmFactor} rad * lambda / D`,
        inputs: { lambda: wavelength, D: aperture },
        unit: "arcsec",
        source: airySource,
        assumes: "A clear round aperture without aberrations.",
      }),
      explanation:
        "The same as an angle. Where the night's stars are much wider, aperture is not what limits them.",
    },
  ];
  const { obstructionMm, apertureMm } = train.telescope;
  if (!(obstructionMm > 0) || obstructionMm >= apertureMm) return extras;
  const widths = computeAnnularWidths(obstructionMm / apertureMm);
  const annular = (factor: number): Quantity =>
    evaluateFormula({
      formula: "k * lambda * N",
      inputs: { k: { value: factor, unit: null }, lambda: wavelength, N: focalRatio },
      unit: "um",
      source: annularSource,
      assumes: "A round, centred obstruction; its supports are left out.",
    });
  return [
    ...extras,
    {
      id: "annularFwhm",
      name: "Star width from diffraction, with the obstruction",
      quantity: annular(widths.fwhm),
      explanation:
        "The obstruction makes the core a little narrower and throws light into the rings around it.",
    },
    {
      id: "annularDarkRing",
      name: "First dark ring, with the obstruction",
      quantity: annular(widths.firstDarkDiameter),
      explanation: "The diameter of the first dark ring, which the obstruction draws inwards.",
    },
  ];
}
