"""PTP's simple types and datasets, read back by a parser of this file's own (ISO 15740; from memory)."""

from __future__ import annotations

import struct
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigd_sim.camera import pack
from rigd_sim.camera.codes import DataType, Form
from rigd_sim.camera.datasets import (
    DeviceInfo,
    ObjectInfo,
    PropertyDescription,
    Range,
    StorageInfo,
    StreamInfo,
)

SIZES = {
    DataType.INT8: (-128, 127), DataType.UINT8: (0, 255), DataType.INT16: (-32768, 32767),
    DataType.UINT16: (0, 65535), DataType.INT32: (-(2**31), 2**31 - 1), DataType.UINT32: (0, 2**32 - 1),
}  # fmt: skip
texts = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=100)
u32 = st.integers(0, 2**32 - 1)


class Cursor:
    """Takes numbers and strings off the front of a dataset."""

    def __init__(self, data: bytes) -> None:
        self.data = data

    def take(self, form: str) -> int:
        (value,) = struct.unpack_from("<" + form, self.data)
        self.data = self.data[struct.calcsize("<" + form) :]
        return int(value)

    def string(self) -> str:
        units = self.take("B")
        text, self.data = self.data[: 2 * units], self.data[2 * units :]
        return text.decode("utf-16-le")[:-1] if units else ""

    def array(self, form: str) -> list[int]:
        return [self.take(form) for _ in range(self.take("I"))]


@given(st.sampled_from(sorted(SIZES)), st.data())
def test_numbers_survive(kind: DataType, data: st.DataObject) -> None:
    number = data.draw(st.integers(*SIZES[kind]))
    assert pack.parse_value(kind, pack.value(kind, number)) == number


@pytest.mark.parametrize("kind", sorted(SIZES))
def test_numbers_that_do_not_fit_are_refused(kind: DataType) -> None:
    for number in (SIZES[kind][0] - 1, SIZES[kind][1] + 1):
        with pytest.raises(pack.PackError):
            pack.value(kind, number)


@given(texts)
def test_strings_survive(text: str) -> None:
    assert pack.parse_value(DataType.STRING, pack.string(text)) == text
    assert Cursor(pack.string(text)).string() == text


@given(st.binary(max_size=20))
def test_bytes_that_are_no_value_are_refused(data: bytes) -> None:
    for kind in (*SIZES, DataType.STRING):
        try:
            value = pack.parse_value(kind, data)
        except pack.PackError:
            continue
        assert kind is DataType.STRING or pack.value(kind, value) == data


def test_a_string_longer_than_its_count_can_say_is_refused() -> None:
    assert len(pack.string("x" * pack.MAX_STRING)) == 1 + 2 * 255
    with pytest.raises(pack.PackError):
        pack.string("x" * (pack.MAX_STRING + 1))


@given(st.datetimes(datetime(1980, 1, 1), datetime(2100, 1, 1)))
def test_times_survive_to_the_tenth(moment: datetime) -> None:
    kept = moment.replace(microsecond=moment.microsecond // 100_000 * 100_000)
    assert pack.parse_timestamp(pack.timestamp(moment)) == kept


def test_a_time_as_the_standard_writes_it() -> None:
    """Format YYYYMMDDThhmmss[.s], ISO 15740; value from memory."""
    assert pack.parse_timestamp("20260308T091530.4+0100") == datetime(2026, 3, 8, 9, 15, 30, 400_000)
    with pytest.raises(pack.PackError):
        pack.parse_timestamp("tomorrow")


def test_device_info() -> None:
    info = DeviceInfo((0x1001, 0x1002), (0x4002,), (), (0x3811,), (0x3811, 0x3001), "M", "", "1.0", "S1")
    cursor = Cursor(info.encode())
    assert [cursor.take("H"), cursor.take("I"), cursor.take("H")] == [110, 0, 0]
    assert [cursor.string(), cursor.take("H")] == ["", 0]
    assert [cursor.array("H") for _ in range(5)] == [[0x1001, 0x1002], [0x4002], [], [0x3811], [0x3811, 0x3001]]
    assert [cursor.string() for _ in range(4)] == ["M", "", "1.0", "S1"]
    assert cursor.data == b""


def test_storage_info() -> None:
    cursor = Cursor(StorageInfo(2**33, 2**32 + 1, 7, "card", "label").encode())
    assert [cursor.take("H") for _ in range(3)] == [4, 2, 0]  # removable RAM, hierarchical, read and write
    assert [cursor.take("Q"), cursor.take("Q"), cursor.take("I")] == [2**33, 2**32 + 1, 7]
    assert [cursor.string(), cursor.string(), cursor.data] == ["card", "label", b""]


def test_object_info() -> None:
    taken = datetime(2026, 3, 8, 9, 15, 30)
    info = ObjectInfo(
        0x10001, 0x3811, 48_000_000, "RIG_0001.DNG", taken, parent=2, width=6000, height=4000, depth=14,
        thumb_size=1700, thumb_width=160, thumb_height=107, thumb_format=0x3801, sequence=9,
    )  # fmt: skip
    cursor = Cursor(info.encode())
    assert [cursor.take(form) for form in "IHHI"] == [0x10001, 0x3811, 0, 48_000_000]
    assert [cursor.take(form) for form in "HIII"] == [0x3801, 1700, 160, 107]
    assert [cursor.take(form) for form in "IIII"] == [6000, 4000, 14, 2]
    assert [cursor.take(form) for form in "HII"] == [0, 0, 9]
    assert [cursor.string() for _ in range(4)] == ["RIG_0001.DNG", "20260308T091530.0", "20260308T091530.0", ""]
    assert cursor.data == b""


def test_stream_info_is_as_long_as_it_says() -> None:
    data = StreamInfo(1000).encode()
    assert Cursor(data).take("Q") == len(data) == 36


def test_property_descriptions() -> None:
    menu = Cursor(PropertyDescription(0x500D, DataType.UINT32, True, 80, 100, choices=(80, 100)).encode())
    assert [menu.take(form) for form in "HHBIIBH"] == [0x500D, DataType.UINT32, 1, 80, 100, Form.ENUMERATION, 2]
    assert [menu.take("I"), menu.take("I"), menu.data] == [80, 100, b""]
    level = Cursor(PropertyDescription(0x5001, DataType.UINT8, False, 100, 55, range=Range(0, 100, 1)).encode())
    assert [level.take(form) for form in "HHBBBBBBB"] == [0x5001, DataType.UINT8, 0, 100, 55, Form.RANGE, 0, 100, 1]
    plain = Cursor(PropertyDescription(0x5011, DataType.STRING, True, "", "x").encode())
    assert [plain.take(form) for form in "HHB"] == [0x5011, 0xFFFF, 1]
    assert [plain.string(), plain.string()] == ["", "x"]
    assert plain.data == bytes([Form.NONE])
