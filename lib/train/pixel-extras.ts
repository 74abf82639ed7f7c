import { evaluateFormula, type FormulaInput } from "../maths/formula.ts";
import type { Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import type { Extra } from "./extra.ts";
import { computeSampling, listTrainInputs, type MeasuredNights } from "./sampling.ts";

/** Widths of stars, arcsec, that common nights give. */
const seeingWidths = [2, 3, 4] as const;

/** Size of the sensor. */
export function listSensorExtras(train: TrainRecord): Extra[] {
  const p: FormulaInput = { value: train.camera.pixelPitchUm, unit: "um/px" };
  const side = (count: number): Quantity =>
    evaluateFormula({
      formula: "n * p",
      inputs: { n: { value: count, unit: "px" }, p },
      unit: "mm",
      source: "the camera's record",
    });
  return [
    {
      id: "sensorWidth",
      name: "Sensor, width",
      quantity: side(train.camera.widthPx),
      explanation: "The imaging area, side to side.",
    },
    {
      id: "sensorHeight",
      name: "Sensor, height",
      quantity: side(train.camera.heightPx),
      explanation: "The imaging area, top to bottom.",
    },
    {
      id: "sensorDiagonal",
      name: "Sensor, diagonal",
      quantity: evaluateFormula({
        formula: "p * sqrt(n_x ^ 2 + n_y ^ 2)",
        inputs: {
          n_x: { value: train.camera.widthPx, unit: "px" },
          n_y: { value: train.camera.heightPx, unit: "px" },
          p,
        },
        unit: "mm",
        source: "the camera's record",
      }),
      explanation: "The image circle must be at least this wide to reach all four corners.",
    },
  ];
}

/** How pixels, the night's stars and the aperture go together. */
export function listPixelExtras(train: TrainRecord, measured: MeasuredNights, wavelengthNm: number): Extra[] {
  const { focalLength, aperture } = listTrainInputs(train, measured, wavelengthNm);
  const { imageScale, pixelsPerSeeing, focalRatio } = computeSampling(train, measured, wavelengthNm);
  const extras: Extra[] = [
    {
      id: "seeingMeasured",
      name: "Measured star width, on the sky",
      quantity: evaluateFormula({
        formula: "w * s",
        inputs: { w: pixelsPerSeeing, s: imageScale },
        unit: "arcsec",
        source: "measured width times image scale",
      }),
      explanation: `The width of the stars in the centre as an angle. Air, tracking, focus and optics all have a share in it. ${judgeSampling(pixelsPerSeeing)}`,
    },
    {
      id: "criticalWidth",
      name: "Narrowest star width that two pixels still follow",
      quantity: evaluateFormula({
        formula: "2 px * s",
        inputs: { s: imageScale },
        unit: "arcsec",
        source:
          "two pixels across the half-maximum (Robertson 2017, PASA; Howell, Handbook of CCD Astronomy)",
      }),
      explanation:
        "Stars narrower than this are undersampled: part of their detail falls between the pixels.",
    },
    {
      id: "diffractionPixel",
      name: "Pixel that catches all that diffraction lets through",
      quantity: evaluateFormula({
        formula: "lambda * N / 2",
        inputs: { lambda: { value: wavelengthNm, unit: "nm" }, N: focalRatio },
        unit: "um",
        source:
          "sampling theorem at the aperture's cut-off frequency 1 / (lambda N) (Goodman, Introduction to Fourier Optics)",
      }),
      explanation:
        "Finer pixels than this could show nothing more, even above the atmosphere. Under ordinary air far coarser ones do.",
    },
    {
      id: "airyAngle",
      name: "Airy disc, diameter on the sky",
      quantity: evaluateFormula({
        formula: "2.43934 rad * lambda / D",
        inputs: { lambda: { value: wavelengthNm, unit: "nm" }, D: aperture },
        unit: "arcsec",
        source: "twice Rayleigh's limit (Smith, Modern Optical Engineering, 4th ed., 9.10)",
      }),
      explanation:
        "The first dark ring of the diffraction pattern as an angle: the aperture alone sets it, not the focal length.",
    },
    {
      id: "nominalFocalLengthRatio",
      name: "Focal length against the bare telescope",
      quantity: evaluateFormula({
        formula: "f_used / f_native",
        inputs: { f_used: focalLength, f_native: { value: train.telescope.focalLengthMm, unit: "mm" } },
        unit: "ratio",
        source: "definition of the factor of a corrector",
      }),
      explanation: "What the corrector makes of the focal length: below 1 it reduces, above 1 it extends.",
    },
  ];
  for (const width of seeingWidths) {
    extras.push({
      id: `pixelsPer${width}Arcsec`,
      name: `Pixels across a star of ${width} arcsec`,
      quantity: evaluateFormula({
        formula: "w / s",
        inputs: { w: { value: width, unit: "arcsec" }, s: imageScale },
        unit: "px",
        source: "width over image scale",
      }),
      explanation: `How many pixels the half-maximum of a star would span on a night that makes stars ${width} arcsec wide.`,
    });
  }
  return extras;
}

/** Bounds of Howell, Handbook of CCD Astronomy (1.5 px) and of the sampling theorem for a Gaussian star (2 px); 3 px for shapes is common practice. */
function judgeSampling(width: Quantity): string {
  if (width.value === null) return "";
  const span = `At ${width.value.toFixed(1)} px across the half-maximum the stars are`;
  if (width.value < 1.5) return `${span} undersampled: their shape is partly lost.`;
  if (width.value < 2) return `${span} slightly undersampled.`;
  if (width.value < 3)
    return `${span} sampled well enough for pictures; shapes are measured best above 3 px.`;
  if (width.value <= 6) return `${span} well sampled.`;
  return `${span} sampled more finely than they need: binning would lose next to nothing.`;
}
