from __future__ import annotations

import pytest

from rigd.drivers.camera import CameraClient, CameraConfig
from rigd.drivers.camera.config import port_path
from rigd.drivers.camera.roles import CANDIDATES, ROLES, candidates
from rigd.errors import BadSetting


@pytest.mark.parametrize(
    ("address", "path"),
    [
        ("usb", None),
        ("ptpip:127.0.0.1:4000:4001", "ptpip:127.0.0.1:4000:4001"),
        ("ptpip:192.168.1.7", "ptpip:192.168.1.7"),
    ],
)
def test_addresses_that_fit(address: str, path: str | None) -> None:
    assert port_path(address) == path


@pytest.mark.parametrize(
    "address",
    # One port alone would send the events to another port than the one that was meant; names are not resolved.
    [
        "", "USB", "ptpip:", "ptpip:camera.local", "ptpip:127.0.0.1:4000", "ptpip:127.0.0.1:0:1",
        "ptpip:127.0.0.1:1:65536", "ptpip:300.0.0.1", "serial:1",
    ],
)  # fmt: skip
def test_addresses_that_do_not(address: str) -> None:
    with pytest.raises(BadSetting) as caught:
        CameraClient(CameraConfig(address))
    assert "ptpip:HOST:CMD:EVT" in caught.value.remedy


def test_every_role_has_candidates_and_a_name_given_by_hand_comes_first() -> None:
    assert set(ROLES) == set(CANDIDATES)
    assert candidates("shutter", {}) == ("shutterspeed2", "shutterspeed")
    assert candidates("shutter", {"shutter": "mine", "iso": "other"})[0] == "mine"
