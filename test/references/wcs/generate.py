"""Scales and the direction of north of random headers, by astropy.wcs. See README.md."""

import json
import math
import pathlib

import astropy
import numpy as np
from astropy.io import fits
from astropy.wcs import WCS
from astropy.wcs.utils import proj_plane_pixel_area, proj_plane_pixel_scales

rng = np.random.default_rng(20261003)


def make_cards(kind):
    scale = rng.uniform(0.3, 4, 2) / 3600 * rng.choice([-1, 1], 2)
    turn = rng.uniform(0, 2 * math.pi)
    c, s = math.cos(turn), math.sin(turn)
    cards = {"CTYPE1": "RA---TAN", "CTYPE2": "DEC--TAN", "CRPIX1": 3124.5, "CRPIX2": 2088.5}
    cards |= {"CRVAL1": rng.uniform(0, 360), "CRVAL2": rng.uniform(-75, 75)}
    if kind == "cd":
        cards |= {"CD1_1": scale[0] * c, "CD1_2": -scale[1] * s, "CD2_1": scale[0] * s, "CD2_2": scale[1] * c}
    elif kind == "pc":
        cards |= {"CDELT1": scale[0], "CDELT2": scale[1], "PC1_1": c, "PC1_2": -s, "PC2_1": s, "PC2_2": c}
    elif kind == "crota":
        cards |= {"CDELT1": scale[0], "CDELT2": scale[1], "CROTA2": math.degrees(turn)}
    elif kind == "swapped":
        cards |= {"CTYPE1": "DEC--TAN", "CTYPE2": "RA---TAN", "CRVAL1": rng.uniform(-75, 75), "CRVAL2": rng.uniform(0, 360)}
        cards |= {"CD1_1": scale[0] * c, "CD1_2": -scale[1] * s, "CD2_1": scale[0] * s, "CD2_2": scale[1] * c}
    return {key: value if isinstance(value, str) else float(value) for key, value in cards.items()}


def measure(cards):
    wcs = WCS(fits.Header(cards.items()))
    latitude = 0 if cards["CTYPE1"].startswith("DEC") else 1
    at = np.array([cards["CRVAL1"], cards["CRVAL2"]])
    north = at.copy()
    north[latitude] += 1e-3
    x, y = (wcs.wcs_world2pix([north], 1) - wcs.wcs_world2pix([at], 1))[0]
    return {
        "scalesArcsec": (3600 * proj_plane_pixel_scales(wcs)).tolist(),
        "meanArcsec": 3600 * math.sqrt(proj_plane_pixel_area(wcs)),
        "northFromUpDeg": math.degrees(math.atan2(-x, y)),
    }


cases = [{"cards": cards, **measure(cards)} for kind in ["cd", "pc", "crota", "swapped"] * 5 for cards in [make_cards(kind)]]
target = pathlib.Path(__file__).parent / "expected.json"
target.write_text(json.dumps({"astropy": astropy.__version__, "cases": cases}, indent=1) + "\n")
