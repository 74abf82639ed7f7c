"""Background, extraction, windowed centroids and flux radius of one frame by sep; prints what it took as JSON.

Reference of the benchmark: python3-sep and python3-astropy as Debian ships them. One thread, as the library works.
"""
import json
import resource
import sys
import time

import numpy
import sep
from astropy.io import fits

path, repeats = sys.argv[1], int(sys.argv[2])
sep.set_extract_pixstack(3_000_000)
seconds = []
for _ in range(repeats):
    start = time.perf_counter()
    data = fits.getdata(path).astype(numpy.float32)
    background = sep.Background(data, bw=64, bh=64)
    data -= background
    objects = sep.extract(data, 5.0, err=background.globalrms)
    radius, _ = sep.flux_radius(
        data, objects["x"], objects["y"], 6.0 * objects["a"], 0.5, normflux=objects["flux"], subpix=5
    )
    x, y, _ = sep.winpos(data, objects["x"], objects["y"], 2.0 / 2.35 * radius)
    seconds.append(time.perf_counter() - start)
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps({"seconds": min(seconds), "peakMb": peak, "stars": len(objects), "version": sep.__version__}))
