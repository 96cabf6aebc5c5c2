"""Which fault strikes where, and how often."""

from __future__ import annotations

import pytest

from rigd_sim.camera.codes import Op
from rigd_sim.camera.faults import BadFault, Fault, Faults, Part

MB = 1 << 20


@pytest.fixture
def faults() -> Faults:
    return Faults()


def test_a_fault_strikes_once_at_its_point_and_nowhere_else(faults: Faults) -> None:
    faults.add(Fault("busy", "capture"))
    assert faults.take_operation(Op.GET_OBJECT) is None
    assert faults.take_operation(Op.INITIATE_CAPTURE) is not None
    assert faults.take_operation(Op.INITIATE_CAPTURE) is None


def test_counts_and_skips(faults: Faults) -> None:
    faults.add(Fault("busy", "delete", count=2, skip=1))
    assert [faults.take_operation(Op.DELETE_OBJECT) is not None for _ in range(5)] == [False, True, True, False, False]


def test_until_cleared(faults: Faults) -> None:
    number = faults.add(Fault("busy", "liveview", count=None))
    other = faults.add(Fault("busy", "capture"))
    assert all(faults.take_operation(Op.GET_STREAM) for _ in range(50))
    faults.clear(number)
    assert faults.take_operation(Op.GET_STREAM) is None
    assert [fault.number for fault in faults.waiting()] == [other]
    faults.clear()
    assert faults.waiting() == []


def test_one_operation_of_a_point(faults: Faults) -> None:
    faults.add(Fault("busy", "init", op=Op.GET_DEVICE_INFO))
    assert faults.take_operation(Op.OPEN_SESSION) is None
    assert faults.take_operation(Op.GET_DEVICE_INFO) is not None


def test_after_bytes_count_from_the_object_not_from_the_block(faults: Faults) -> None:
    faults.add(Fault("drop", "download", after_bytes=2 * MB + 7))
    blocks = [Part(n * MB, (n + 1) * MB, 4 * MB) for n in range(4)]
    struck = [faults.take_operation(Op.GET_PARTIAL_OBJECT, block) for block in blocks]
    assert [fault and fault.after_bytes for fault in struck] == [None, None, 7, None]


def test_spoiling_takes_the_middle_unless_told(faults: Faults) -> None:
    faults.add(Fault("corrupt_byte", "download"))
    struck = faults.take_operation(Op.GET_OBJECT, Part(0, 1000, 1000))
    assert struck is not None
    assert struck.after_bytes == 500


def test_a_short_transfer_in_blocks_lasts_until_a_block_is_empty(faults: Faults) -> None:
    faults.add(Fault("short_transfer", "download", after_bytes=MB + 7))
    parts = [Part(0, MB, 4 * MB), Part(MB, 2 * MB, 4 * MB), Part(MB + 7, 2 * MB + 7, 4 * MB), Part(0, MB, 4 * MB)]
    struck = [faults.take_operation(Op.GET_PARTIAL_OBJECT, part) for part in parts]
    assert [fault and fault.after_bytes for fault in struck] == [None, 7, 0, None]
    assert faults.waiting() == []


def test_faults_of_the_picture_do_not_strike_the_answer(faults: Faults) -> None:
    faults.add(Fault("card_full", "capture"))
    assert faults.take_operation(Op.INITIATE_CAPTURE) is None
    assert faults.take("capture", "card_full") is not None


@pytest.mark.parametrize(
    "fault",
    [
        Fault("busy", "event"), Fault("stale_picture", "download"), Fault("lost_event", "capture"),
        Fault("busy", "now"), Fault("busy", "nowhere"), Fault("nothing", "capture"),  # type: ignore[arg-type]
        Fault("busy", "capture", count=0), Fault("drop", "download", after_bytes=-1),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused(faults: Faults, fault: Fault) -> None:
    with pytest.raises(BadFault):
        faults.add(fault)
