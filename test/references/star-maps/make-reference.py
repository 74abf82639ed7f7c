"""Star positions on two tangent planes by astropy, a similarity by Umeyama's method, and Poisson tails by scipy."""
import json
import sys
import astropy
import numpy as np
import scipy
from astropy.wcs import WCS
from scipy.spatial.transform import Rotation
from scipy.stats import poisson

rng = np.random.default_rng(11)


def plane(ra, dec, scale_deg, turn_deg):
    """A camera of 1 mm units: gnomonic, y up, east to the left, turned counter-clockwise."""
    w = WCS(naxis=2)
    w.wcs.ctype = ["RA---TAN", "DEC--TAN"]
    w.wcs.crval = [ra, dec]
    w.wcs.crpix = [1, 1]
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    # Sky plane (east, north) to the camera: x = -east, y = north, then the turn.
    w.wcs.cd = scale_deg * np.array([[-c, -s], [-s, c]])
    return w


def similarity(z, w):
    """Umeyama 1991 with reflections forbidden, by singular values."""
    zc, wc = z - z.mean(0), w - w.mean(0)
    u, d, vt = np.linalg.svd(wc.T @ zc / len(z))
    sign = np.diag([1.0, np.sign(np.linalg.det(u @ vt))])
    rotation = u @ sign @ vt
    scale = np.trace(np.diag(d) @ sign) / zc.var(0).sum()
    return scale, np.degrees(np.arctan2(rotation[1, 0], rotation[0, 0])), (w.mean(0) - scale * rotation @ z.mean(0)).tolist()


focal_a, ratio = 805.0, 0.73
a = plane(283.4, 33.0, np.degrees(1 / focal_a), 0.0)
b = plane(283.9, 32.8, np.degrees(1 / (focal_a * ratio)), 25.0)
xy = np.column_stack([rng.uniform(-11.7, 11.7, 60), rng.uniform(-7.8, 7.8, 60)])
sky = a.wcs_pix2world(xy, 0)
on_b = b.wcs_world2pix(sky, 0)
z = rng.normal(size=(12, 2)) * 300
turn = Rotation.from_euler("z", 101.3, degrees=True).as_matrix()[:2, :2]
w = 2.37 * z @ turn.T + [40, -25] + rng.normal(size=(12, 2)) * 2
scale, angle, shift = similarity(z, w)
tails = [(k, m, float(poisson.logsf(k - 1, m))) for k, m in [(1, 0.5), (5, 0.2), (12, 3.0), (60, 20.0), (3, 8.0)]]
json.dump(
    {
        "versions": {"python": sys.version.split()[0], "astropy": astropy.__version__, "scipy": scipy.__version__, "numpy": np.__version__},
        "planes": {"focalLengthMm": focal_a, "ratio": ratio, "turnDeg": 25.0, "a": np.round(xy, 9).tolist(), "b": np.round(on_b, 9).tolist()},
        "similarity": {"from": z.tolist(), "to": w.tolist(), "scale": scale, "turnDeg": angle, "shift": shift},
        "poisson": tails,
    },
    open("reference.json", "w"),
)
