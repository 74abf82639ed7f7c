import { type Profile, TABLE_RADIUS, TABLE_STEPS } from "../stars/profile.ts";
import type { SamplePlane } from "../stars/samples.ts";
import { chooseNodes, pickNodes, readPixelLight, type StarShape } from "../stars/star-model.ts";

/** Where the light of a star lies on the average, from the place it was asked about, px, y down. */
export interface LightCentre {
  dxPx: number;
  dyPx: number;
  /** One sigma of each from photons and read noise. */
  errorPx: number;
}

/** A star's noise: one sigma of the background, ADU, and electrons per ADU. */
export interface LightNoise {
  sigmaAdu: number;
  gainElectronsPerAdu: number;
}

/**
 * Mean place of a star's light within `reachPx` of the model's centre, the light beyond reckoned with.
 *
 * What the pixels hold beyond a symmetric model at the same place has the first moment M. Were the light all inside, its mean
 * place would be M / flux; as its wings are centred on it too, those cut off by the circle take away the share outside and
 * pi R2 S(R) / flux, with S the light at the edge. The model is there for coarse pixels: on every other pixel the moment of a
 * perfectly symmetric star swings with where in the pixel it stands, which the model does alike.
 *
 * @param model - as wide as the star, its background 0; it is made as bright as the star's pixels are
 * @returns null where a pixel is missing, the frame's edge is reached, or the model is no picture of the star at all
 */
export function measureLightCentre(
  plane: SamplePlane,
  model: StarShape,
  profile: Profile,
  backgroundAdu: number,
  noise: LightNoise,
  reachPx: number,
): LightCentre | null {
  const nodes = chooseNodes(model);
  const share = plane.sites.filter(Boolean).length / 4;
  const pixels: { dx: number; dy: number; value: number; light: number }[] = [];
  for (let y = Math.ceil(model.y - reachPx); y <= model.y + reachPx; y++) {
    const dy = y - model.y;
    for (let x = Math.ceil(model.x - reachPx); x <= model.x + reachPx; x++) {
      const dx = x - model.x;
      if (dx * dx + dy * dy > reachPx * reachPx || !plane.sites[(x & 1) + 2 * (y & 1)]) continue;
      if (x < 0 || y < 0 || x >= plane.widthPx || y >= plane.heightPx) return null;
      const value = plane.samples[y * plane.widthPx + x] - backgroundAdu;
      if (!Number.isFinite(value)) return null;
      const light = model.peak * readPixelLight(model, profile, pickNodes(nodes, model, x, y), x, y);
      pixels.push({ dx, dy, value, light });
    }
  }
  // The star's own light on this model, whatever profile its flux was fitted with.
  const [product, square] = pixels.reduce(
    ([both, own], { value, light }) => [both + value * light, own + light * light],
    [0, 0],
  );
  const scale = product / square;
  if (!(scale > 0.3 && scale < 3)) return null;
  let [momentX, momentY, variance, inside] = [0, 0, 0, 0];
  for (const { dx, dy, value, light } of pixels) {
    const own = scale * light;
    momentX += (value - own) * dx;
    momentY += (value - own) * dy;
    inside += own;
    variance += (noise.sigmaAdu ** 2 + own / noise.gainElectronsPerAdu) * ((dx * dx + dy * dy) / 2);
  }
  const halfWidth = (model.qxx * model.qyy - model.qxy ** 2) ** -0.25;
  const radius = Math.min(TABLE_RADIUS, reachPx / halfWidth);
  const edge = profile.light[Math.round(radius * TABLE_STEPS)];
  const flux = scale * model.peak * profile.area * halfWidth ** 2;
  const seen = inside / share - Math.PI * reachPx ** 2 * scale * model.peak * edge;
  if (!(seen > 0.3 * flux)) return null;
  const per = 1 / (share * seen);
  return { dxPx: momentX * per, dyPx: momentY * per, errorPx: Math.sqrt(variance) * per };
}
