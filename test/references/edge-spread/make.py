"""Spread of slanted edges by an implementation of its own, with numpy and scipy alone, and by closed form.

Writes edge-spread.json beside itself. Run: /usr/bin/python3 make.py
"""

import json
import pathlib
import platform

import numpy
import scipy
from scipy.optimize import brentq
from scipy.special import erfc

OVER = 4
WIDTH, HEIGHT = 96, 160
SUB = 5


def gaussian_edge(t, sigma):
    return 0.5 * erfc(t / (sigma * numpy.sqrt(2)))


def moffat_edge(t, alpha):
    """Edge of a Moffat star of exponent 2.5, whose line spread is (1 + t2)^-2."""
    u = t / alpha
    return 0.5 - (numpy.arctan(u) + u / (1 + u * u)) / numpy.pi


def gaussian_transfer(f, sigma):
    return numpy.exp(-2 * (numpy.pi * sigma * f) ** 2)


def moffat_transfer(f, alpha):
    """Fourier transform of (1 + t2)^-2: (1 + k) exp(-k), k = 2 pi f alpha."""
    k = 2 * numpy.pi * f * alpha
    return (1 + k) * numpy.exp(-k)


KINDS = {"gaussian": (gaussian_edge, gaussian_transfer), "moffat": (moffat_edge, moffat_transfer)}


def draw(kind, size, angle):
    """Light to the left of a line through the middle, its normal turned by `angle` from +x."""
    edge = KINDS[kind][0]
    steps = (numpy.arange(SUB) - (SUB - 1) / 2) / SUB
    y, x = numpy.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    image = numpy.zeros((HEIGHT, WIDTH))
    for v in steps:
        for u in steps:
            t = (x + u - (WIDTH - 1) / 2) * numpy.cos(angle) + (y + v - (HEIGHT - 1) / 2) * numpy.sin(angle)
            image += edge(t, size)
    return image / SUB**2


def measure(image, angle, reach=29):
    y, x = numpy.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    t = (x - (WIDTH - 1) / 2) * numpy.cos(angle) + (y - (HEIGHT - 1) / 2) * numpy.sin(angle)
    centres = numpy.arange(-reach * OVER, reach * OVER + 1) / OVER
    # Each sample once, in order of distance; the profile is their running mean over a bin, read at the centres.
    order = numpy.argsort(t, axis=None)
    t, light = t.ravel()[order], image.ravel()[order]
    half = 0.5 / OVER
    first = numpy.searchsorted(t, centres - half)
    last = numpy.searchsorted(t, centres + half)
    profile = numpy.array([light[a:b].mean() for a, b in zip(first, last)])
    line = -numpy.convolve(profile, [0.5, 0, -0.5], mode="same")
    line[0] = line[-1] = 0
    window = numpy.hamming(len(line))
    spectrum = lambda f: abs(numpy.sum(line * window * numpy.exp(-2j * numpy.pi * f * centres)))
    transfer = lambda f: spectrum(f) / spectrum(0) / (numpy.sinc(2 * f / OVER) * numpy.sinc(f / OVER))
    mtf50 = brentq(lambda f: transfer(f) - 0.5, 0.01, 0.9)
    fall = lambda level: numpy.interp(-level, -profile, centres)
    return {"mtf50": mtf50, "spreadPx": float(fall(0.1) - fall(0.9))}


def exact(kind, size, angle):
    """With the pixel's own transfer along the normal; the spread by inverting the transfer numerically."""
    transfer = lambda f: (
        KINDS[kind][1](f, size) * numpy.sinc(f * numpy.cos(angle)) * numpy.sinc(f * numpy.sin(angle))
    )
    mtf50 = brentq(lambda f: transfer(f) - 0.5, 1e-3, 0.95)
    f = numpy.arange(0, 4, 5e-5) + 2.5e-5
    edge = lambda t: 0.5 - numpy.sum(transfer(f) * numpy.sin(2 * numpy.pi * f * t) / (numpy.pi * f)) * 5e-5
    fall = lambda level: brentq(lambda t: edge(t) - level, -30, 30)
    line = lambda t: 2 * numpy.sum(transfer(f) * numpy.cos(2 * numpy.pi * f * t)) * 5e-5
    half = brentq(lambda t: line(t) - line(0) / 2, 0.1, 20)
    return {"mtf50": mtf50, "spreadPx": fall(0.1) - fall(0.9), "fwhmPx": 2 * half}


cases = []
for kind, size in [("gaussian", 0.7), ("gaussian", 1.2), ("gaussian", 2.0), ("moffat", 1.5), ("moffat", 2.5)]:
    for degrees in [5, 20, 37]:
        angle = numpy.radians(degrees)
        image = draw(kind, size, angle)
        cases.append(
            {
                "kind": kind,
                "sizePx": size,
                "angleDeg": degrees,
                "twin": measure(image, angle),
                "exact": exact(kind, size, angle),
            }
        )

text = json.dumps({"numpy": numpy.__version__, "scipy": scipy.__version__, "cases": cases}, indent=1)
pathlib.Path(__file__).with_name("edge-spread.json").write_text(text + "\n")
print(platform.python_version(), len(cases))
