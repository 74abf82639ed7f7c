"""Half-maximum widths of seeing-blurred stars through a defocused, astigmatic, annular aperture.

Own wave optics, independent of the project's code: pupil -> Fourier transform -> intensity -> transfer function,
times the long-exposure Kolmogorov transfer exp(-3.442 (f s / 0.975865)^(5/3)) (Fried 1966, JOSA 56:1372), back to the
image by cosine sums, half-maximum contour by rays, and of the region inside it the area and second moments.

Lengths in units of lambda N. F0: width of the star in focus (area diameter of its half-maximum region); d = 1 / F0.
u = geometric blur diameter z / N over F0, along two axes, so the wavefront is W = u F0 / 8 waves times the pupil
coordinate squared. Written: width along the first axis / F0 / sqrt(1 + u1^2), times 20000, for obstructions EPS,
values D of d, u1 = sinh(STEP i), i = 0..LAST, u2 = sinh(STEP j), j = -LAST..LAST (row-major, j fastest).

Run: python3 generate.py ../../../lib/field/blur-table.ts
"""

import base64
import sys

import numpy as np

EPS = [0.0, 0.2, 0.35, 0.5]
D = [0.08, 0.22, 0.36, 0.50, 0.64, 0.78]
STEP = 0.25
LAST = 10
RAYS = 25
FINE = 48


def kolmogorov(f, seeing):
    return np.exp(-3.442 * (f * seeing / 0.975865) ** (5 / 3))


def fast_length(n):
    for m in range(n, 2 * n):
        k = m
        for p in (2, 3, 5):
            while k % p == 0:
                k //= p
        if k == 1:
            return m
    return n


def transfer(eps, w1, w2, box):
    """Quadrant of the transfer function at frequencies k / box, k = 0..floor(box)."""
    half = int(np.ceil(box / 2)) + 1
    sub = 3
    offsets = (np.arange(sub) - (sub - 1) / 2) / sub
    axis = np.arange(-half, half + 1)
    fine = (axis[:, None] + offsets[None, :]).ravel() / (box / 2)
    amplitude = np.zeros((len(axis), len(axis)), complex)
    x, y = fine[None, :], fine[:, None]
    r2 = x * x + y * y
    open_ = ((r2 <= 1) & (r2 >= eps * eps)).astype(float)
    field = open_ * np.exp(2j * np.pi * (w1 * x * x + w2 * y * y))
    n = len(axis)
    amplitude = field.reshape(n, sub, n, sub).mean(axis=(1, 3))
    size = fast_length(2 * n)
    image = np.abs(np.fft.fft2(amplitude, (size, size))) ** 2
    # A cell's mean is the pupil smeared over the cell: the image carries sinc^2, taken out again.
    s = np.sinc(np.fft.fftfreq(size))
    image /= (s[:, None] * s[None, :]) ** 2
    otf = np.fft.ifft2(image).real
    k = int(np.floor(box)) + 1
    quadrant = otf[:k, :k]
    return quadrant.T / otf[0, 0]  # first index: axis 1 (x)


def widths(eps, u1, u2, f0, seeing):
    largest = max(abs(u1), abs(u2))
    box = max((14 + 2.6 * largest) * f0, 40)
    otf = transfer(eps, u1 * f0 / 8, u2 * f0 / 8, box)
    k = otf.shape[0]
    f = np.arange(k) / box
    spectrum = otf * kolmogorov(np.hypot(f[:, None], f[None, :]), seeing)
    weight = np.where(np.arange(k) == 0, 1.0, 2.0)
    spectrum = spectrum * weight[:, None] * weight[None, :]
    reach1 = f0 * (0.62 + 0.62 * abs(u1))
    reach2 = f0 * (0.62 + 0.62 * abs(u2))
    for _ in range(4):
        x = np.linspace(0, reach1, FINE)
        y = np.linspace(0, reach2, FINE)
        image = np.cos(2 * np.pi * x[:, None] * f[None, :]) @ spectrum @ np.cos(2 * np.pi * f[:, None] * y[None, :])
        peak = image.max()
        ok1, ok2 = (image[-1, :] < peak / 2).all(), (image[:, -1] < peak / 2).all()
        if ok1 and ok2:
            break
        reach1 *= 1 if ok1 else 1.3
        reach2 *= 1 if ok2 else 1.3
    peak = refine_peak(image)
    from scipy.ndimage import map_coordinates

    theta = np.linspace(0, np.pi / 2, RAYS)
    rho = np.linspace(0, 1, 400)
    cx = (FINE - 1) * rho[None, :] * np.cos(theta)[:, None]
    cy = (FINE - 1) * rho[None, :] * np.sin(theta)[:, None]
    full = np.pad(image, ((8, 0), (8, 0)), mode="reflect")
    values = map_coordinates(full, [cx + 8, cy + 8], order=3, mode="nearest") - peak / 2
    radius = np.empty(RAYS)
    for i in range(RAYS):
        above = np.nonzero(values[i] >= 0)[0]
        if len(above) == 0:  # a ring with gaps, far out of focus: the ring's own crest closes the contour there
            radius[i] = rho[np.argmax(values[i])]
            continue
        j = above[-1]
        a, b = values[i, j], values[i, j + 1]
        radius[i] = rho[j] + (rho[1] - rho[0]) * a / (a - b)
    w = np.full(RAYS, theta[1])
    w[0] = w[-1] = theta[1] / 2
    area = 4 * reach1 * reach2 * np.sum(w * radius**2) / 2
    m1 = 4 * reach1**3 * reach2 * np.sum(w * radius**4 * np.cos(theta) ** 2) / 4 / area
    m2 = 4 * reach2**3 * reach1 * np.sum(w * radius**4 * np.sin(theta) ** 2) / 4 / area
    diameter = 2 * np.sqrt(area / np.pi)
    ratio = (m1 / m2) ** 0.25
    return diameter * ratio, diameter / ratio


def refine_peak(image):
    i, j = np.unravel_index(np.argmax(image), image.shape)
    peak = image[i, j]
    gain = 0.0
    for line, at in ((image[:, j], i), (image[i, :], j)):
        left = line[abs(at - 1)] if at < len(line) - 1 else line[at]
        right = line[min(at + 1, len(line) - 1)]
        curve = left + right - 2 * peak
        if curve < 0:
            gain += -((right - left) ** 2) / (8 * curve)
    return peak + gain


def find_seeing(eps, f0):
    low, high = 0.01 * f0, f0
    for _ in range(40):
        middle = (low + high) / 2
        width = widths(eps, 0, 0, f0, middle)[0]
        low, high = (middle, high) if width < f0 else (low, middle)
    return (low + high) / 2


def main(target):
    n = LAST + 1
    table = np.zeros((len(EPS), len(D), n, 2 * LAST + 1))
    seeing = np.zeros((len(EPS), len(D)))
    u = np.sinh(STEP * np.arange(n))
    for e, eps in enumerate(EPS):
        for k, d in enumerate(D):
            f0 = 1 / d
            seeing[e, k] = find_seeing(eps, f0) / f0
            for i in range(n):
                for j in range(-i, i + 1):
                    a, b = widths(eps, u[i], np.sign(j) * u[abs(j)], f0, seeing[e, k] * f0)
                    a /= f0 * np.sqrt(1 + u[i] ** 2)
                    b /= f0 * np.sqrt(1 + u[abs(j)] ** 2)
                    table[e, k, i, LAST + j] = a
                    # Swapping the axes, and negating both: width along axis 2 at (i, j) is that along axis 1 at (|j|, +-i).
                    table[e, k, abs(j), LAST + (i if j >= 0 else -i)] = b
                    if j == 0:
                        table[e, k, 0, LAST - i] = b
            print(eps, d, seeing[e, k], table[e, k].min(), table[e, k].max(), flush=True)
    packed = base64.b64encode(np.round(table * 20000).astype("<u2").tobytes()).decode()
    with open(target, "w") as out:
        out.write(TEXT.format(EPS=EPS, D=D, STEP=STEP, LAST=LAST,
                              seeing=[[round(float(v), 5) for v in row] for row in seeing], packed=packed))


TEXT = '''/**
 * Half-maximum widths of a star blurred by Kolmogorov seeing and a defocused, astigmatic, annular aperture, as computed by
 * wave optics in test/references/blur-table/generate.py (which states units and method). Read by `blur-width.ts`.
 */
export const blurTable = {{
  /** Linear central obstructions. */
  obstructions: {EPS},
  /** lambda N over the width in focus. */
  diffractionShares: {D},
  /** Seeing's own width over the width in focus, by obstruction and diffraction share. */
  seeingShares: {seeing},
  /** Blur over the width in focus is sinh(step i), i from 0 (first axis) or -last (second axis) to last. */
  step: {STEP},
  last: {LAST},
  /** Width along the first axis over that in focus and over sqrt(1 + u1^2), times 20000: little-endian 16-bit words. */
  packedWidths:
    "{packed}",
}} as const;
'''

if __name__ == "__main__":
    main(sys.argv[1])
