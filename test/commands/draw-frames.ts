import { mkdir, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

export const small = { widthPx: 600, heightPx: 400 };

export interface FieldPlan {
  /** Which stars: the same sky, the same stars. */
  sky: number;
  /** Which noise, and which shift. */
  seed: number;
  stars?: number;
  fwhmPx?: number;
  shift?: { x: number; y: number };
  widthPx?: number;
  heightPx?: number;
  levelAdu?: number;
}

/** A star field of Moffat stars (beta 4, integrated over 3 x 3 points a pixel) with photon and read noise; 16-bit ADU. */
export function drawField(plan: FieldPlan): { widthPx: number; heightPx: number; samples: Uint16Array } {
  const { widthPx = small.widthPx, heightPx = small.heightPx, fwhmPx = 3, levelAdu = 500 } = plan;
  const sky = makeRandom(plan.sky);
  const normal = makeNormalRandom(makeRandom(plan.seed));
  const light = new Float64Array(widthPx * heightPx).fill(levelAdu);
  const alpha2 = (fwhmPx / 2) ** 2 / (2 ** 0.25 - 1);
  for (let star = 0; star < (plan.stars ?? 160); star++) {
    const x = sky() * widthPx + (plan.shift?.x ?? 0);
    const y = sky() * heightPx + (plan.shift?.y ?? 0);
    const flux = Math.min(250_000, 4000 * (sky() + 0.003) ** -0.9);
    const peak = (flux * 3) / (Math.PI * alpha2);
    for (let j = Math.max(0, Math.floor(y - 18)); j <= Math.min(heightPx - 1, y + 18); j++) {
      for (let i = Math.max(0, Math.floor(x - 18)); i <= Math.min(widthPx - 1, x + 18); i++) {
        let sum = 0;
        for (const dy of [-1 / 3, 0, 1 / 3]) {
          for (const dx of [-1 / 3, 0, 1 / 3])
            sum += (1 + ((i + dx - x) ** 2 + (j + dy - y) ** 2) / alpha2) ** -4;
        }
        light[j * widthPx + i] += (peak * sum) / 9;
      }
    }
  }
  const samples = Uint16Array.from(light, (value) =>
    Math.max(0, Math.min(65535, Math.round(value + Math.sqrt(value + 25) * normal()))),
  );
  return { widthPx, heightPx, samples };
}

/** A FITS file of 16-bit samples, rows bottom-up as the standard has them. */
export function encodeFits(
  image: { widthPx: number; heightPx: number; samples: Uint16Array },
  cards: Record<string, string | number> = {},
): Buffer {
  const { widthPx, heightPx, samples } = image;
  const head: Record<string, string | number | boolean> = {
    SIMPLE: true,
    BITPIX: 16,
    NAXIS: 2,
    NAXIS1: widthPx,
    NAXIS2: heightPx,
    BZERO: 32768,
    BSCALE: 1,
    ...cards,
  };
  const lines = Object.entries(head).map(([key, value]) => {
    const text =
      typeof value === "boolean"
        ? value
          ? "T"
          : "F"
        : typeof value === "string"
          ? `'${value}'`
          : `${value}`;
    return `${key.padEnd(8)}= ${typeof value === "string" ? text.padEnd(20) : text.padStart(20)}`.padEnd(80);
  });
  const header = [...lines, "END".padEnd(80)].join("");
  const padded = header.padEnd(Math.ceil(header.length / 2880) * 2880);
  const data = Buffer.alloc(Math.ceil((samples.length * 2) / 2880) * 2880);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      data.writeInt16BE(samples[(heightPx - 1 - y) * widthPx + x] - 32768, (y * widthPx + x) * 2);
    }
  }
  return Buffer.concat([Buffer.from(padded, "latin1"), data]);
}

export const trainYaml = `name: Tarnlight 60
telescope: { name: Tarnlight 60, apertureMm: 60, focalLengthMm: 360 }
corrector: { name: Tarnlight F60, kind: flattener, factor: 1, backFocusMm: 55 }
stack:
  - { part: M48 ring, lengthMm: 37.0, clearDiameterMm: 45 }
  - { spacersMm: [0.5], clearDiameterMm: 45 }
camera: { name: Heron 2, widthPx: ${small.widthPx}, heightPx: ${small.heightPx}, pixelPitchUm: 3.76, flangeMm: 17.5, gainElectronsPerAdu: 1, readNoiseElectrons: 5, saturationAdu: 60000 }
`;

export async function writeText(file: string, text: string | Buffer): Promise<void> {
  await mkdir(dirname(file), { recursive: true });
  await writeFile(file, text);
}

/** A content folder with one train, one test and its frames: two dithered exposures of one sky. */
export async function writeContent(dir: string, frames = 2): Promise<{ testDir: string; trainDir: string }> {
  const trainDir = join(dir, "trains/tarn-60");
  const testDir = join(trainDir, "tests/2026-10-03");
  await writeText(join(trainDir, "train.yaml"), trainYaml);
  await writeText(join(testDir, "test.yaml"), "date: 2026-10-03\nframes: [frames/field-*.fits]\n");
  for (let frame = 1; frame <= frames; frame++) {
    const image = drawField({ sky: 7, seed: frame, shift: { x: 4 * frame, y: -3 * frame } });
    await writeText(
      join(testDir, `frames/field-${frame}.fits`),
      encodeFits(image, { EXPTIME: 60, IMAGETYP: "Light" }),
    );
  }
  return { testDir, trainDir };
}
