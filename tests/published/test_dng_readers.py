"""Raw files of the simulated camera, read by programs outside the project: LibRaw, tifffile, ExifRead, exiv2."""

from __future__ import annotations

import io
import logging
import shutil
import subprocess
from datetime import UTC, datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path

import exifread
import numpy as np
import pytest
import rawpy
import tifffile

from rigd_sim.rawfile import ShotMeta, encode_dng
from rigd_sim.scene.spec import SENSORS

pytestmark = pytest.mark.published

TAKEN = datetime(2031, 5, 3, 10, 11, 12, 345000, tzinfo=timezone(timedelta(hours=2)))
META = ShotMeta(Fraction(1, 60), 8.0, 100, TAKEN, "SIM-0042", number=17)
PREVIEW = np.tile(np.linspace(0, 255, 960, dtype=np.uint8)[None, :, None], (640, 1, 3))


def mosaic(megapixels=2, seed=3):
    """Noise over a ramp, all 14 bits in use, every phase of the filter at another level."""
    width, height = SENSORS[megapixels]
    rng = np.random.default_rng(seed)
    tile = rng.normal(0, 40, (256, width)).astype(np.float32)
    ramp = np.linspace(600, 16200, width, dtype=np.float32)
    picture = np.tile(tile, (height // 256 + 1, 1))[:height] + ramp
    picture[::2, ::2] *= 0.6
    picture[1::2, 1::2] *= 0.75
    return np.clip(picture, 0, 16383).astype(np.uint16)


def written(folder: Path, picture, compression="none", meta=META):
    path = folder / "a.dng"
    path.write_bytes(encode_dng(picture, meta, PREVIEW, compression))
    return path


@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
@pytest.mark.parametrize("megapixels", [2, 12, 24, 60])
def test_libraw_reads_back_every_pixel(tmp_path, megapixels, compression):
    """LibRaw (through rawpy) gives the identical array, RGGB, and the levels of the DNG tags BlackLevel, WhiteLevel."""
    picture = mosaic(megapixels)
    with rawpy.imread(str(written(tmp_path, picture, compression))) as raw:
        assert np.array_equal(raw.raw_image, picture)
        assert raw.black_level_per_channel == [512] * 4
        assert raw.white_level == 16383
        assert raw.color_desc == b"RGBG"
        assert raw.raw_pattern.tolist() == [[0, 1], [3, 2]]


def test_libraw_develops_linear_light(tmp_path):
    """Linear 16-bit output is (value - black) / (white - black) x 65535 of an even grey, as LibRaw computes it."""
    even = np.full((1152, 1728), 4608, np.uint16)
    with rawpy.imread(str(written(tmp_path, even))) as raw:
        rgb = raw.postprocess(gamma=(1, 1), no_auto_bright=True, output_bps=16, user_wb=[1, 1, 1, 1],
                              output_color=rawpy.ColorSpace.raw)  # fmt: skip
    assert rgb[500:600, 800:900].mean() == pytest.approx((4608 - 512) / (16383 - 512) * 65535, abs=40)


def test_libraw_finds_the_preview(tmp_path):
    with rawpy.imread(str(written(tmp_path, mosaic()))) as raw:
        thumb = raw.extract_thumb()
    assert thumb.format == rawpy.ThumbFormat.JPEG
    assert thumb.data[:2] == b"\xff\xd8"


@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
def test_tifffile_reads_the_same(tmp_path, compression):
    """Directory 0 is a thumbnail; its first child the raw picture (photometric 32803), its second the JPEG preview."""
    picture = mosaic()
    with tifffile.TiffFile(written(tmp_path, picture, compression)) as tiff:
        first = tiff.pages[0]
        raw, preview = first.pages
        assert np.array_equal(raw.asarray(), picture)
        assert raw.photometric == 32803
        assert raw.tags[33421].value == (2, 2)
        assert raw.tags[33422].value == b"\x00\x01\x01\x02"
        assert raw.tags[50714].value == 512
        assert raw.tags[50717].value == 16383
        assert raw.tags[50829].value == (0, 0, 1152, 1728)
        assert preview.asarray().shape == (640, 960, 3)
        assert np.abs(preview.asarray().astype(int) - PREVIEW).mean() < 3
        tags = {50706: b"\x01\x04\x00\x00", 50708: "Simulated Simulated Body", 50778: 23}
        assert {n: first.tags[n].value for n in tags} == tags
        assert 50721 in first.tags
        assert 50728 in first.tags


def test_exifread_reads_the_shot(tmp_path):
    tags = exifread.process_file(io.BytesIO(written(tmp_path, mosaic()).read_bytes()), details=False)
    wanted = {
        "EXIF ExposureTime": "1/60",
        "EXIF FNumber": "8",
        "EXIF ISOSpeedRatings": "100",
        "EXIF DateTimeOriginal": "2031:05:03 10:11:12",
        "EXIF SubSecTimeOriginal": "345",
        "EXIF OffsetTimeOriginal": "+02:00",
        "EXIF BodySerialNumber": "SIM-0042",
        "EXIF LensModel": "Copy 60 mm",
        "Image Make": "Simulated",
        "Image Model": "Simulated Body",
    }
    assert {key: str(tags[key]) for key in wanted} == wanted


def test_exifread_has_nothing_to_complain_of(tmp_path, caplog):
    with caplog.at_level(logging.WARNING, logger="exifread"):
        exifread.process_file(io.BytesIO(written(tmp_path, mosaic()).read_bytes()))
    assert caplog.records == []


@pytest.mark.skipif(shutil.which("exiv2") is None, reason="Debian's exiv2 is not installed")
@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
def test_exiv2_reads_it_without_a_warning(tmp_path, compression):
    path = written(tmp_path, mosaic(), compression)
    shown = subprocess.run(["exiv2", "-pa", str(path)], capture_output=True, text=True, check=True)
    assert shown.stderr == ""
    lines = {line.split(maxsplit=1)[0]: line.split(maxsplit=3)[3] for line in shown.stdout.splitlines()}
    assert lines["Exif.Photo.ExposureTime"] == "1/60 s"
    assert lines["Exif.Photo.FNumber"] == "F8"
    assert lines["Exif.Photo.BodySerialNumber"] == "SIM-0042"
    assert lines["Exif.Photo.SubSecTimeOriginal"] == "345"
    assert lines["Exif.SubImage1.PhotometricInterpretation"] == "Color Filter Array"
    assert lines["Exif.SubImage1.BlackLevel"] == "512"


@pytest.mark.parametrize(
    ("seconds", "f_number", "text"),
    [("1/8000", 5.6, "1/8000"), ("30", 11.0, "30"), ("1/3", 22.0, "1/3"), (Fraction(8, 5), 1.4, "8/5")],
)
def test_exposures_are_exact_fractions(tmp_path, seconds, f_number, text):
    """A file says 1/60, never 0.016667 (Exif ExposureTime is RATIONAL)."""
    meta = ShotMeta(seconds, f_number, 100, datetime(2031, 1, 2, tzinfo=UTC), "S")
    tags = exifread.process_file(io.BytesIO(written(tmp_path, mosaic(), meta=meta).read_bytes()), details=False)
    assert str(tags["EXIF ExposureTime"]) == text
    assert float(Fraction(str(tags["EXIF FNumber"]))) == f_number


def test_lossless_is_smaller_and_every_tile_is_a_jpeg(tmp_path):
    """ITU-T T.81: a stream begins with SOI, holds SOF3 (lossless, Huffman), ends with EOI."""
    picture = mosaic()
    plain, packed = (encode_dng(picture, META, PREVIEW, c) for c in ("none", "lossless-jpeg"))
    assert len(packed) < 0.9 * len(plain)
    path = written(tmp_path, picture, "lossless-jpeg")
    data = path.read_bytes()
    with tifffile.TiffFile(path) as tiff:
        raw = tiff.pages[0].pages[0]
        for start, length in zip(raw.dataoffsets, raw.databytecounts, strict=True):
            stream = data[start : start + length]
            assert stream[:2] == b"\xff\xd8"
            assert b"\xff\xc3" in stream[:200]
            assert stream[-2:] == b"\xff\xd9"


def test_uncompressed_data_begins_on_a_page_and_is_the_mosaic():
    picture = mosaic()
    data = encode_dng(picture, META, PREVIEW)
    start = len(data) - picture.nbytes
    assert start % 4096 == 0
    assert bytes(data[start:]) == picture.tobytes()


@pytest.mark.parametrize(
    ("picture", "compression"),
    [
        (np.zeros((3, 4), np.uint16), "none"),
        (np.zeros((4, 4), np.uint8), "none"),
        (np.zeros((4, 4, 3), np.uint16), "none"),
        (np.zeros((4, 4), np.uint16), "zip"),
    ],
)
def test_what_can_not_be_a_raw_picture_is_refused(picture, compression):
    with pytest.raises(ValueError, match=r"mosaic is|compression is"):
        encode_dng(picture, META, PREVIEW, compression)
