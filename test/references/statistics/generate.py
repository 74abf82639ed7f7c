"""Prints the reference values that test/maths and test/outside/optics.test.ts quote from foreign programs."""

import warnings

import astropy
import mpmath
import numpy as np
import scipy
from astropy.wcs import WCS
from astropy.wcs.utils import proj_plane_pixel_scales
from scipy import optimize, special, stats

warnings.simplefilter("ignore")
print("numpy", np.__version__, "scipy", scipy.__version__, "mpmath", mpmath.__version__, "astropy", astropy.__version__)

print("\nquantiles of 2 3 5 7 11 (numpy, default method, type 7)")
for q in (0.1, 0.35, 0.5, 0.85, 0.975, 0, 1):
    print(q, repr(float(np.quantile([2, 3, 5, 7, 11], q))))

print("\nnormal tail and quantile (scipy)")
for z in (-8, -3.5, -1, 0.3, 2, 4):
    print(z, repr(float(stats.norm.cdf(z))))
for p in (1e-12, 1e-3, 0.2, 0.975):
    print(p, repr(float(stats.norm.ppf(p))))

print("\nStudent's t quantile (mpmath, 30 digits; beside it scipy's own)")
mpmath.mp.dps = 30
for p, n in ((0.975, 7), (0.975, 30.5), (0.995, 3), (0.9, 0.7), (1e-6, 4), (0.975, 1e6)):
    freedom = mpmath.mpf(n)

    def lower_tail(t):
        outside = mpmath.betainc(freedom / 2, mpmath.mpf(1) / 2, 0, freedom / (freedom + t * t), regularized=True)
        return outside / 2 if t < 0 else 1 - outside / 2

    start = float(stats.t.ppf(p, n))
    print(p, n, mpmath.nstr(mpmath.findroot(lambda t: lower_tail(t) - mpmath.mpf(p), start), 20), repr(start))

print("\nF tail, incomplete beta, log gamma (scipy)")
print(repr(float(stats.f.sf(1.7, 3, 20))), repr(float(stats.f.sf(0.2, 1, 5))))
print(repr(float(special.betainc(2.5, 0.5, 0.3))), repr(float(special.gammaln(0.5))), repr(float(special.gammaln(7.3))))

print("\nweighted least squares by the matrix formula (numpy)")
x = np.array([0, 1, 2, 3, 4.0])
y = np.array([1.1, 2.9, 5.2, 6.8, 9.3])
w = np.array([1, 4, 1, 0.25, 2.0])
design = np.c_[np.ones(5), x]
inverse = np.linalg.inv(design.T @ np.diag(w) @ design)
solution = inverse @ design.T @ (w * y)
variance = (w * (y - design @ solution) ** 2).sum() / 3
print(solution.tolist(), np.sqrt(variance), (inverse * variance).tolist(), inverse.tolist())

print("\nFieller interval of the zero (numpy, t by mpmath)")
x = np.arange(-4, 5.0)
y = np.array([-8.3, -5.8, -4.4, -1.7, 0.7, 1.9, 4.6, 6.2, 8.4])
b, a = np.polyfit(x, y, 1)
s = np.sqrt(((y - a - b * x) ** 2).sum() / 7)
t, sxx, zero = 2.3646242515927847, (x**2).sum(), -a / b
g = t**2 * s**2 / (b**2 * sxx)
half = t * s / (abs(b) * (1 - g)) * np.sqrt((1 - g) / 9 + zero**2 / sxx)
print(zero, zero / (1 - g) - half, zero / (1 - g) + half, g)

print("\nlaw schools, 90 % BCa interval of the correlation (scipy, 9999 resamples, seed 1)")
lsat = np.array([576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594.0])
gpa = np.array([3.39, 3.3, 2.81, 3.03, 3.44, 3.07, 3.0, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96])
bca = stats.bootstrap(
    (lsat, gpa),
    lambda u, v: np.corrcoef(u, v)[0, 1],
    paired=True,
    vectorized=False,
    confidence_level=0.9,
    n_resamples=9999,
    random_state=1,
)
print(np.corrcoef(lsat, gpa)[0, 1], bca.confidence_interval, bca.standard_error)

print("\nannular pupil: half-maximum width and first dark ring in lambda N (scipy)")
for eps in (0, 0.2, 0.3, 0.4, 0.5):

    def amplitude(r, e=eps):
        disc = lambda v: 2 * special.j1(v) / v if v > 1e-9 else 1.0
        return (disc(np.pi * r) - e * e * disc(np.pi * r * e)) / (1 - e * e)

    width = 2 * optimize.brentq(lambda r: amplitude(r) ** 2 - 0.5, 0.1, 0.9)
    print(eps, width, optimize.brentq(amplitude, 0.6, 1.4))

print("\nscale of a PC matrix in degrees (astropy)")
wcs = WCS(naxis=2)
wcs.wcs.ctype = ["RA---TAN", "DEC--TAN"]
wcs.wcs.cdelt = [1, 1]
wcs.wcs.pc = [[1.12212319481e-4, -2.85904573777e-5], [2.85904573777e-5, 1.12212319481e-4]]
print(proj_plane_pixel_scales(wcs) * 3600)
