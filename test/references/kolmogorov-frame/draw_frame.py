"""Draws a star frame by physical optics with numpy and scipy alone: shares nothing with this project's own simulator.

Kolmogorov seeing exp(-3.442 (lambda f / r0)^(5/3)) (Fried 1966) through a circular f/5.53 aperture at 550 nm, the optical
transfer function of the pupil by FFT (defocus and astigmatism optional), the pixel's integral as sinc; stars put at
sub-pixel places by cubic interpolation of the eight times oversampled image; Poisson noise, read noise, 16 bits.

    /usr/bin/python3 draw_frame.py in-focus       fwhm_px=2.5 seed=21
    /usr/bin/python3 draw_frame.py astigmatic     fwhm_px=2.6 seed=22 defocus=40 astigmatism=30
    fpack -r -D in-focus.fits astigmatic.fits
"""
import sys

import numpy as np
from astropy.io import fits
from scipy.ndimage import map_coordinates, spline_filter

oversampling, grid = 8, 1024


def draw(name, width=640, height=480, count=80, fwhm_px=2.5, seed=1, sky=100.0, read_noise=3.0,
         defocus=0.0, astigmatism=0.0, pitch=3.76, focal_ratio=5.53, wavelength=0.55):
    rng = np.random.default_rng(seed)
    step = pitch / oversampling
    f = np.fft.fftfreq(grid, step)
    fx, fy = np.meshgrid(f, f)
    frequency = np.hypot(fx, fy)
    rho = frequency * 2 * wavelength * focal_ratio
    edge = np.clip((1 - rho) / (2 * wavelength * focal_ratio) / f[1] + 0.5, 0, 1)
    wavefront = (defocus + astigmatism * np.cos(2 * np.arctan2(fy, fx))) * rho**2 / (8 * focal_ratio**2)
    pupil = edge * np.exp(2j * np.pi / wavelength * wavefront)
    optics = np.fft.fft2(np.abs(np.fft.ifft2(pupil)) ** 2)
    optics /= optics[0, 0]

    def widths(transfer):
        image = np.real(np.fft.ifft2(transfer))
        found = []
        for line in (image[0, : grid // 2], image[: grid // 2, 0]):
            line = line / line[0]
            i = int(np.argmax(line < 0.5))
            found.append(2 * step / pitch * (i - 1 + (line[i - 1] - 0.5) / (line[i - 1] - line[i])))
        return found

    low, high = 0.05 * fwhm_px * pitch, 1.2 * fwhm_px * pitch
    for _ in range(50):
        seeing = (low + high) / 2
        transfer = optics * np.exp(-3.442 * (frequency * seeing / 0.975865) ** (5 / 3))
        if np.sqrt(np.prod(widths(transfer))) < fwhm_px:
            low = seeing
        else:
            high = seeing
    across, along = widths(transfer)
    pixel = np.sinc(fx * pitch) * np.sinc(fy * pitch)
    psf = np.fft.fftshift(np.real(np.fft.ifft2(transfer * pixel))) * oversampling**2
    spline = spline_filter(psf, order=3)
    image = np.full((height, width), sky)
    # A jittered lattice: no two stars nearer than about 40 px.
    columns = int(np.ceil(np.sqrt(count * width / height)))
    rows = int(np.ceil(count / columns))
    x = np.array([(c + rng.uniform(0.25, 0.75)) * width / columns for r in range(rows) for c in range(columns)])[:count]
    y = np.array([(r + rng.uniform(0.25, 0.75)) * height / rows for r in range(rows) for c in range(columns)])[:count]
    flux = np.exp(rng.uniform(np.log(2e4), np.log(3e5), count))
    reach = 40
    k = np.arange(-reach, reach + 1)
    for xi, yi, light in zip(x, y, flux):
        ix, iy = int(round(xi)), int(round(yi))
        gx, gy = np.meshgrid((ix + k - xi) * oversampling + grid // 2, (iy + k - yi) * oversampling + grid // 2)
        stamp = map_coordinates(spline, [gy, gx], order=3, prefilter=False)
        y0, y1, x0, x1 = max(0, iy - reach), min(height, iy + reach + 1), max(0, ix - reach), min(width, ix + reach + 1)
        image[y0:y1, x0:x1] += light * stamp[y0 - iy + reach : y1 - iy + reach, x0 - ix + reach : x1 - ix + reach]
    adu = np.clip(np.round(rng.poisson(image) + rng.normal(0, read_noise, image.shape) + 500), 0, 65535)
    header = fits.Header()
    header["EGAIN"], header["XPIXSZ"] = 1.0, pitch
    # Row 0 of the arrays above is the displayed top; FITS displays its first row at the bottom.
    fits.PrimaryHDU(adu.astype(np.uint16)[::-1], header).writeto(f"{name}.fits", overwrite=True)
    with open(f"{name}.csv", "w") as out:
        out.write("x_px,y_px,flux_electrons,fwhm_x_px,fwhm_y_px\n")
        for row in zip(x, y, flux):
            out.write("%.4f,%.4f,%.1f" % row + ",%.5f,%.5f\n" % (across, along))


if __name__ == "__main__":
    options = {key: float(value) for key, value in (word.split("=") for word in sys.argv[2:])}
    if "seed" in options:
        options["seed"] = int(options["seed"])
    draw(sys.argv[1], **options)
