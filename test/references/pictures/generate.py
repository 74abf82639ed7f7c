"""Small pictures written by Pillow; sample values follow a rule that the test repeats. See README.md."""

import pathlib

import numpy as np
from PIL import Image

here = pathlib.Path(__file__).parent
width, height = 19, 11
y, x = np.mgrid[:height, :width]
mono = ((x * 3449 + y * 5953) % 65536).astype(np.uint16)
mono[0, 0], mono[0, 1] = 0, 65535
eight = (mono >> 8).astype(np.uint8)
rgb = np.stack([eight, eight[::-1], eight[:, ::-1]], axis=-1)

for compression in [None, "tiff_lzw", "tiff_deflate", "packbits"]:
    name = f"mono16-{compression or 'raw'}.tif"
    Image.fromarray(mono).save(here / name, compression=compression)
Image.fromarray(mono.astype(np.float32) / 7 - 100).save(here / "float32.tif")
Image.fromarray(mono).save(here / "mono16.png")
Image.fromarray(rgb).save(here / "rgb8.png")
Image.fromarray(rgb).save(here / "rgb8-lzw.tif", compression="tiff_lzw")
palette = Image.fromarray(rgb).quantize(64, dither=Image.Dither.NONE)
palette.save(here / "palette.png")
(here / "palette.rgb").write_bytes(palette.convert("RGB").tobytes())
