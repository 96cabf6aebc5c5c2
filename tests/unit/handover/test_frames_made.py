"""The files of one frame, read back by independent readers."""

from __future__ import annotations

import shutil
import subprocess

import cv2
import imagecodecs
import numpy as np
import pytest
import tifffile
from msgspec.structs import replace
from tests.unit.handover.conftest import write_raw

from rigd.errors import FileChanged, InputError
from rigd.handover.making import make, tones
from rigd.handover.tiff import grey_profile, srgb_profile, write_tiff
from rigd.handover.values import Lie, Source
from rigd.imaging.transfer import encoded
from rigd.model.words import Colour


def test_the_tiff_is_what_it_says(tmp_path):
    picture = np.random.default_rng(1).integers(0, 65535, (301, 403, 3)).astype(np.uint16)
    size = write_tiff(tmp_path / "one.tif", picture, 100.0, "Quay at low water", b"<x:xmpmeta/>")
    assert size == (tmp_path / "one.tif").stat().st_size
    with tifffile.TiffFile(tmp_path / "one.tif") as file:
        tags = file.pages[0].tags
        assert np.array_equal(file.asarray(), picture)
        # TIFF 6.0: XResolution 282 in samples an inch (unit 2); ICC profile in tag 34675.
        assert (tags[282].value, tags[296].value) == ((2540, 1), 2)
        assert bytes(tags[34675].value) == srgb_profile()
        assert tags[270].value == "Quay at low water"
    assert np.array_equal(cv2.imread(str(tmp_path / "one.tif"), cv2.IMREAD_UNCHANGED)[:, :, ::-1], picture)


def test_exiv2_reads_it_without_a_warning(tmp_path):
    write_tiff(tmp_path / "one.tif", np.zeros((64, 64), np.uint16), 100.0, "grey")
    assert shutil.which("exiv2"), "apt-get install exiv2"
    said = subprocess.run(["exiv2", "-pa", str(tmp_path / "one.tif")], capture_output=True, text=True, check=True)
    assert said.stderr == ""
    assert "Exif.Image.XResolution" in said.stdout


def test_a_file_that_is_there_is_not_overwritten(tmp_path):
    (tmp_path / "one.tif").write_bytes(b"mine")
    with pytest.raises(FileExistsError):
        write_tiff(tmp_path / "one.tif", np.zeros((4, 4), np.uint16), 0.0, "")
    assert (tmp_path / "one.tif").read_bytes() == b"mine"


@pytest.mark.parametrize("profile", [srgb_profile(), grey_profile()])
def test_the_profiles_are_valid_and_have_the_curve_of_srgb(profile):
    imagecodecs.cms_profile_validate(profile)
    rgb = profile is srgb_profile()
    steps = np.linspace(0, 1, 9)
    device = (encoded(steps) * 65535).round().astype(np.uint16)
    device = np.repeat(device[None, :, None], 3, 2) if rgb else device[None, :]
    how = {"colorspace": "rgb"} if rgb else {"colorspace": "gray"}
    # Little CMS turns the values to linear light: what was encoded by IEC 61966-2-1 comes back.
    primaries = [0.64, 0.33, 0.30, 0.60, 0.15, 0.06]
    colour = {"whitepoint": [0.3127, 0.3290], "primaries": primaries} if rgb else {}
    linear = imagecodecs.cms_profile("rgb" if rgb else "gray", gamma=1.0, **colour)
    got = imagecodecs.cms_transform(device, profile, linear, outcolorspace=how["colorspace"], **how)
    got = got[0, :, 0] if rgb else got.reshape(-1)
    assert got / 65535 == pytest.approx(steps, abs=2e-3)


def test_a_frame_is_cut_and_printed(tmp_path, make_frame):
    made = make(make_frame(), tmp_path / "job", tmp_path / "out")
    assert [one.path for one in made.files] == ["positives/q-001.tif", "proofs/q-001.jpg"]
    picture = tifffile.imread(tmp_path / "out" / "positives" / "q-001.tif")
    assert picture.shape == (140, 180)
    assert (made.height, made.width) == (140, 180)
    # The negative's light rises from left to right: the print falls.
    columns = picture.mean(axis=0)
    assert columns[5] > columns[90] > columns[-5]
    proof = cv2.imread(str(tmp_path / "out" / "proofs" / "q-001.jpg"))
    assert proof.shape[:2] == (140, 180)


def test_a_proof_is_no_longer_than_asked(tmp_path, make_frame):
    make(make_frame(proof_px=90), tmp_path / "job", tmp_path / "out")
    assert max(cv2.imread(str(tmp_path / "out" / "proofs" / "q-001.jpg")).shape) == 90


def test_turned_and_mirrored(tmp_path, make_frame):
    plan = make_frame()
    make(plan, tmp_path / "job", tmp_path / "a")
    make(replace(plan, lie=replace(plan.lie, quarters=1, mirrored=True)), tmp_path / "job", tmp_path / "b")
    a, b = (tifffile.imread(tmp_path / name / "positives" / "q-001.tif") for name in ("a", "b"))
    assert np.array_equal(b, np.rot90(a, -1)[:, ::-1])


def test_without_corners_the_whole_sight_is_delivered(tmp_path, make_frame):
    made = make(make_frame(lie=Lie()), tmp_path / "job", tmp_path / "out")
    assert (made.width, made.height) == (300, 200)


def test_two_exposures_of_a_frame_are_laid_together(tmp_path, make_frame):
    plan = make_frame()
    long = write_raw(tmp_path / "job" / "Q_7" / "long.dng", 1, seconds=15)
    sources = (*plan.sources, Source("Q_7/long.dng", long, 1 / 15, "bracket"))
    make(replace(plan, sources=sources), tmp_path / "job", tmp_path / "both")
    make(plan, tmp_path / "job", tmp_path / "one")
    both, one = (tifffile.imread(tmp_path / d / "positives" / "q-001.tif").astype(int) for d in ("both", "one"))
    assert np.abs(both - one).mean() < 0.01 * 65535  # the same tones
    noise = [np.std(np.diff(p[:, 20:60], axis=0)) for p in (both, one)]
    assert noise[0] < noise[1]


def test_tones_are_densities_over_the_base(tmp_path, make_frame):
    found = np.array(tones(make_frame(), tmp_path / "job"))
    assert found.shape == (19, 3)
    assert np.all(np.diff(found[:, 1]) >= 0)
    assert 0.2 < found[0, 1] < found[-1, 1] < 1.4


def test_a_raw_of_other_bytes_or_size_is_refused(tmp_path, make_frame):
    plan = make_frame()
    with pytest.raises(FileChanged, match="not what was stored"):
        make(replace(plan, sources=(replace(plan.sources[0], sha256="0" * 64),)), tmp_path / "job", tmp_path / "out")
    small = tmp_path / "job" / "Q_7" / "small.dng"
    small.parent.mkdir(parents=True, exist_ok=True)
    with pytest.raises(FileChanged, match="is gone"):
        make(replace(plan, sources=(Source("Q_7/none.dng", "", 1.0),)), tmp_path / "job", tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_corners_that_are_no_frame_are_refused(tmp_path, make_frame):
    corners = ((0.8, 0.15), (0.8, 0.85), (0.2, 0.85), (0.2, 0.15))
    with pytest.raises(InputError, match="cannot be cut out"):
        make(make_frame(lie=Lie(corners)), tmp_path / "job", tmp_path / "out")


def test_a_proof_in_colour_carries_its_profile(tmp_path, make_frame):
    make(make_frame(colour=Colour.COLOUR), tmp_path / "job", tmp_path / "out")
    body = (tmp_path / "out" / "proofs" / "q-001.jpg").read_bytes()
    assert cv2.imdecode(np.frombuffer(body, np.uint8), cv2.IMREAD_COLOR) is not None
    at = body.index(b"ICC_PROFILE\0\x01\x01")
    assert body[at + 14 :].startswith(srgb_profile())
    assert int.from_bytes(body[at - 2 : at], "big") == len(srgb_profile()) + 16
