"""Makes the FITS reference files and the values astropy and funpack read from them. See README.md."""

import gzip
import hashlib
import json
import pathlib
import shutil
import subprocess
import tempfile
import warnings

import astropy
import numpy as np
from astropy.io import fits

warnings.simplefilter("ignore")
here = pathlib.Path(__file__).parent
suite = pathlib.Path(fits.__file__).parent / "tests" / "data"
work = pathlib.Path(tempfile.mkdtemp())
rng = np.random.default_rng(20261003)

SUITE = [
    "arange.fits", "blank.fits", "btable.fits", "checksum.fits", "checksum_false.fits", "comp.fits",
    "compressed_float_bzero.fits", "compressed_image.fits", "double_ext.fits", "fixed-1890.fits", "group.fits",
    "history_header.fits", "o4sp040b0_raw.fits", "random_groups.fits", "scale.fits", "test0.fits",
    "theap-gap.fits", "variable_length_table.fits", "verify.fits", "zerowidth.fits", "invalid/group_invalid.fits",
]


def describe(values):
    """Type, shape and hash of the little-endian bytes; NaN made one bit pattern first, as payloads carry no meaning."""
    values = np.ascontiguousarray(values)
    values = values.astype(values.dtype.newbyteorder("<"))
    if values.dtype.kind == "f":
        values[np.isnan(values)] = np.nan
    return {
        "type": values.dtype.name,
        "shape": list(values.shape),
        "sha256": hashlib.sha256(values.tobytes()).hexdigest(),
        "nans": int(np.isnan(values).sum()) if values.dtype.kind == "f" else 0,
        "firstRow": [None if v != v else v for v in values.reshape(-1)[:6].tolist()],
    }


def store(name, path):
    """Stored packed: a header is mostly blanks. No time, so that the bytes are the same on every run."""
    (here / (name + ".gz")).write_bytes(gzip.compress(path.read_bytes(), 9, mtime=0))


def read_all(path):
    units = {}
    with fits.open(path, memmap=False) as units_read:
        for index, unit in enumerate(units_read):
            image = isinstance(unit, (fits.PrimaryHDU, fits.ImageHDU, fits.CompImageHDU))
            shape = unit.shape if image else ()
            wanted = len(shape) >= 2 and 0 not in shape and (len(shape) == 2 or shape[0] in (1, 3))
            if image and wanted and len(shape) <= 3:
                units[str(index)] = describe(unit.data)
    return units


def sky(shape, level, noise):
    y, x = np.mgrid[: shape[-2], : shape[-1]]
    star = 30 * noise * np.exp(-((x - 13.3) ** 2 + (y - 8.6) ** 2) / 5)
    return level + star + rng.normal(0, noise, shape)


size = (19, 37)
plain = {
    "u8": sky(size, 100, 4).clip(0, 255).astype(np.uint8),
    "i16": sky(size, -5, 40).astype(np.int16),
    "u16": sky(size, 60000, 400).clip(0, 65535).astype(np.uint16),
    "i32": (sky(size, 0, 1e6)).astype(np.int32),
    "u32": (sky(size, 3e9, 1e6)).astype(np.uint32),
    "f32": sky(size, 900, 12).astype(np.float32),
    "f64": sky(size, -0.25, 0.01),
    "cube-u16": sky((3,) + size, 2000, 30).astype(np.uint16),
}
holes = sky(size, 0, 3).astype(np.float32)
holes[4, 5:9] = np.nan
holes[10, 3:7] = 0
holes[18, 36] = np.nan
plain["f32-holes"] = holes

expected = {"versions": {"astropy": astropy.__version__, "numpy": np.__version__}, "suite": {}, "plain": {}, "packed": {}, "refused": {}}

for name in SUITE:
    target = name.replace("/", "-")
    store(target, suite / name)
    try:
        expected["suite"][target] = read_all(suite / name)
    except Exception as error:  # astropy refuses it as well
        expected["suite"][target] = {"error": type(error).__name__}

for name, values in plain.items():
    path = work / f"{name}.fits"
    fits.PrimaryHDU(values).writeto(path, checksum=True)
    store(f"{name}.fits", path)
    expected["plain"][f"{name}.fits"] = read_all(path)


def scaled(name, values, **keywords):
    unit = fits.PrimaryHDU(values)
    for keyword, value in keywords.items():
        unit.header[keyword] = value
    path = work / f"{name}.fits"
    # Written as stored: the keywords are not to change the samples.
    raw = unit.header.tostring() + ""
    data = np.ascontiguousarray(values.astype(values.dtype.newbyteorder(">"))).tobytes()
    path.write_bytes(raw.encode() + data + b"\0" * (-len(data) % 2880))
    store(f"{name}.fits", path)
    expected["plain"][f"{name}.fits"] = read_all(path)


i16 = plain["i16"]
scaled("i16-scaled", i16, BSCALE=0.1, BZERO=273.15)
scaled("i16-blank", i16, BLANK=int(i16[3, 3]))
scaled("i16-scaled-blank", i16, BSCALE=2.5, BZERO=-7, BLANK=int(i16[3, 3]))
scaled("i8-offset", plain["u8"], BSCALE=1, BZERO=-128)
scaled("i32-scaled", plain["i32"], BSCALE=1e-3, BZERO=1e4)
scaled("i64", (sky(size, 0, 1e15)).astype(np.int64))
scaled("u64", (sky(size, 0, 1e17)).astype(np.int64), BSCALE=1, BZERO=2**63)
scaled("i64-scaled", (sky(size, 0, 1e15)).astype(np.int64), BSCALE=1e-10, BZERO=5)
scaled("f32-scaled", plain["f32"], BSCALE=0.3, BZERO=11)
scaled("f64-scaled", plain["f64"], BSCALE=0.3, BZERO=11)


def judge_packed(name, path):
    """Values by both readers; where astropy refuses the file, funpack's are the ones expected."""
    unpacked = work / "unpacked.fits"
    unpacked.unlink(missing_ok=True)
    done = subprocess.run(["funpack", "-O", str(unpacked), str(path)], capture_output=True)
    by_funpack = None
    if done.returncode == 0 and unpacked.exists():
        with fits.open(unpacked, memmap=False) as units:
            by_funpack = describe(next(unit for unit in units if unit.data is not None).data)
    try:
        entry = read_all(path)["1"]
    except ValueError as error:
        entry = {**by_funpack, "astropy": str(error)}
    if by_funpack is None:
        entry["funpack"] = "cannot unpack it"
    elif entry["sha256"] != by_funpack["sha256"]:
        # The keyword ZBLANK is applied by funpack, as the standard asks, and not by this astropy.
        entry = {**by_funpack, "astropy": "differs", "astropyNans": entry["nans"]}
    store(name, path)
    expected["packed"][name] = entry


FPACK = {
    "u8": ["-r", "-g", "-g2", "-r -w"],
    "i16": ["-r", "-g", "-g2", "-d", "-r -t 7,5"],
    "u16": ["-r", "-g", "-g2", "-r -w", "-r -t 10,4", "-g2 -t 7,5"],
    "i32": ["-r", "-g", "-g2", "-r -t 16,16"],
    "u32": ["-r", "-g2"],
    "f32": ["-r -q4 8", "-r -q17 4", "-r -q0 4", "-r -qz99 4", "-g -q33 4", "-g2 -q7 2", "-g -q 0", "-g2 -q 0", "-r -q5 4 -t 9,6"],
    "f64": ["-r -q9 4", "-g -q 0", "-g2 -q 0", "-g -q0 4"],
    "f32-holes": ["-r -q3 4", "-r -q0 4", "-r -qz8 4", "-g2 -qz10000 4", "-g -q 0"],
    "cube-u16": ["-r", "-g2 -w", "-r -t 10,4,2"],
}
for base, commands in FPACK.items():
    for flags in commands:
        name = f"{base}{flags.replace(' -', '-').replace(' ', '_').replace(',', 'x')}.fits.fz"
        path = work / name
        subprocess.run(["fpack", *flags.split(), "-O", str(path), str(work / f"{base}.fits")], check=True)
        judge_packed(name, path)

for base, flags in [("u16", "-h"), ("i16", "-h"), ("u8", "-p")]:
    name = f"{base}{flags}.fits.fz"
    path = work / name
    subprocess.run(["fpack", flags, "-O", str(path), str(work / f"{base}.fits")], check=True)
    store(name, path)
    with fits.open(path, disable_image_compression=True) as units:
        expected["refused"][name] = units[1].header["ZCMPTYPE"]

for base, method, quantize, seed, tile in [
    ("f32", "RICE_1", 1, 10000, (37, 19)),
    ("f32-holes", "RICE_1", 2, 55, (11, 3)),
    ("f32", "GZIP_2", -1, 1, (37, 1)),
    ("u16", "RICE_1", -1, 1, (5, 5)),
    ("i16", "GZIP_1", -1, 1, (37, 19)),
]:
    name = f"astropy-{base}-{method}-{quantize}.fits"
    path = work / name
    unit = fits.CompImageHDU(plain[base], compression_type=method, tile_size=tile, quantize_method=quantize, dither_seed=seed)
    fits.HDUList([fits.PrimaryHDU(), unit]).writeto(path)
    judge_packed(name, path)

# Tiles stored plain, behind 64-bit descriptors, with a gap before the heap; and every other tile packed.
values = plain["i16"]
rows, columns = values.shape
table = b""
heap = b""
for row in range(rows):
    piece = values[row].astype(">i2").tobytes()
    if row % 2 == 0:
        table += np.array([0, 0, columns, len(heap)], ">i8").tobytes()
    else:
        piece = gzip.compress(piece, 9, mtime=0)
        table += np.array([len(piece), len(heap), 0, 0], ">i8").tobytes()
    heap += piece
gap = 40
header = fits.Header([
    ("XTENSION", "BINTABLE"), ("BITPIX", 8), ("NAXIS", 2), ("NAXIS1", 32), ("NAXIS2", rows), ("PCOUNT", gap + len(heap)),
    ("GCOUNT", 1), ("TFIELDS", 2), ("TTYPE1", "COMPRESSED_DATA"), ("TFORM1", f"1QB({columns * 2 + 40})"),
    ("TTYPE2", "UNCOMPRESSED_DATA"), ("TFORM2", f"1QI({columns})"), ("THEAP", len(table) + gap), ("ZIMAGE", True),
    ("ZCMPTYPE", "GZIP_1"), ("ZBITPIX", 16), ("ZNAXIS", 2), ("ZNAXIS1", columns), ("ZNAXIS2", rows),
    ("ZTILE1", columns), ("ZTILE2", 1),
])
data = table + b"\0" * gap + heap
path = work / "plain-tiles.fits"
path.write_bytes(fits.PrimaryHDU().header.tostring().encode() + header.tostring().encode() + data + b"\0" * (-len(data) % 2880))
store("plain-tiles.fits", path)
entry = describe(values)
try:
    entry["astropy"] = read_all(path)["1"]["sha256"]
except Exception as error:
    entry["astropy"] = type(error).__name__
expected["plainTiles"] = entry

(here / "expected.json").write_text(json.dumps(expected, indent=1) + "\n")
shutil.rmtree(work)
