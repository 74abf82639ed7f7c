"""Draws a star frame with numpy and has sep and photutils find its stars. See README.md."""

import gzip
import json
import sys

import astropy
import numpy as np
import photutils
import sep
from astropy.convolution import Gaussian2DKernel
from astropy.stats import sigma_clipped_stats
from photutils.detection import DAOStarFinder

WIDTH, HEIGHT, FWHM = 480, 400, 2.8
rng = np.random.default_rng(20261125)


def shine(x0, y0, flux):
    """Moffat star of exponent 4, integrated over pixels on a 7 x 7 grid each."""
    beta = 4.0
    alpha = FWHM / (2 * np.sqrt(2 ** (1 / beta) - 1))
    left, top = int(round(x0)) - 25, int(round(y0)) - 25
    steps = (np.arange(7) + 0.5) / 7 - 0.5
    xs = (left + np.arange(51))[:, None] + steps[None, :]
    ys = (top + np.arange(51))[:, None] + steps[None, :]
    dx2 = ((xs - x0) ** 2).reshape(-1)
    dy2 = ((ys - y0) ** 2).reshape(-1)
    light = (beta - 1) / (np.pi * alpha**2) * (1 + (dx2[None, :] + dy2[:, None]) / alpha**2) ** -beta
    return left, top, flux * light.reshape(51, 7, 51, 7).mean(axis=(1, 3))


def draw():
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    image = 60 + 0.03 * x + 0.02 * y
    stars = [
        (rng.uniform(8, WIDTH - 9), rng.uniform(8, HEIGHT - 9), 10 ** rng.uniform(2.3, 4.7)) for _ in range(140)
    ]
    for x0, y0, flux in stars:
        left, top, light = shine(x0, y0, flux)
        x1, y1 = max(left, 0), max(top, 0)
        x2, y2 = min(left + 51, WIDTH), min(top + 51, HEIGHT)
        image[y1:y2, x1:x2] += light[y1 - top : y2 - top, x1 - left : x2 - left]
    frame = rng.poisson(image) + rng.normal(0, 3, image.shape) + 100
    frame = np.clip(np.round(frame), 0, 65535).astype("<u2")
    hot = [(int(rng.integers(10, WIDTH - 10)), int(rng.integers(10, HEIGHT - 10))) for _ in range(12)]
    for i, (x0, y0) in enumerate(hot):
        frame[y0, x0] += 150 * (i + 1)
    return frame, stars, hot


def main():
    frame, stars, hot = draw()
    with gzip.GzipFile("frame.u16.gz", "wb", mtime=0) as out:
        out.write(frame.tobytes())
    data = frame.astype(np.float64)
    background = sep.Background(data, bw=64, bh=64)
    clean = data - background.back()
    kernel = Gaussian2DKernel(FWHM / 2.3548, x_size=9, y_size=9).array
    # An absolute threshold on the convolved frame: five sigmas of its own, filtered noise.
    threshold = 5 * background.globalrms * np.sqrt((kernel**2).sum())
    objects = sep.extract(clean, threshold, minarea=1, filter_kernel=kernel, filter_type="conv", deblend_cont=0.005)
    winx, winy, _ = sep.winpos(clean, objects["x"], objects["y"], np.full(len(objects), FWHM / 2.3548))
    _, _, sigma = sigma_clipped_stats(clean, sigma=3)
    found = DAOStarFinder(threshold=5 * sigma, fwhm=FWHM)(clean)
    reference = {
        "made": {
            "python": sys.version.split()[0],
            "numpy": np.__version__,
            "astropy": astropy.__version__,
            "sep": sep.__version__,
            "photutils": photutils.__version__,
        },
        "widthPx": WIDTH,
        "heightPx": HEIGHT,
        "fwhmPx": FWHM,
        "stars": [[round(v, 4) for v in star] for star in stars],
        "hotPixels": hot,
        "sepBackground": {
            "backCentre": float(background.back()[HEIGHT // 2, WIDTH // 2]),
            "backCorner": float(background.back()[0, 0]),
            "rms": float(background.globalrms),
        },
        "sep": [
            [round(float(x), 4), round(float(y), 4), round(float(p), 2)] for x, y, p in zip(winx, winy, objects["peak"])
        ],
        "photutils": [
            [round(float(row["xcentroid"]), 4), round(float(row["ycentroid"]), 4), round(float(row["peak"]), 2)]
            for row in found
        ],
    }
    with open("reference.json", "w") as out:
        json.dump(reference, out, separators=(",", ":"))
        out.write("\n")


main()
