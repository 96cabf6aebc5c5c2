"""The film sensor: ends, perforations, a film that does not follow (hardware/PROTOCOL.md, "Film").

Perforations of 135 film: one every 4.75 mm, 1.98 mm long (long pitch and KS hole, as in the published tables;
ISO 1007). At the usual 80 steps/mm that is 380 and 158 steps.
"""

from __future__ import annotations

from tests.contract.board.bed import Bed
from tests.contract.board.raw import RawHost

PITCH, HOLE = 380, 158


def lay(bed: Bed, host: RawHost, lead: int, length: int, perforated: bool = False) -> list[str]:
    bed.call("film", lead=lead, length=length, pitch=PITCH if perforated else 0, hole=HOLE if perforated else 0)
    return host.read(0.1)


def test_film_laid_and_taken_by_hand_is_told(bed: Bed, host: RawHost) -> None:
    assert lay(bed, host, -100, 5000) == ["#01 FILM in at=0"]
    assert " film=1 " in host.say("ASK")[0]
    bed.call("pull", steps=5000)
    assert host.read(0.1) == ["#02 FILM out at=0"]
    assert " film=0 " in host.say("ASK")[0]


def test_a_shake_of_the_film_is_no_film(bed: Bed, host: RawHost) -> None:
    bed.call("film", lead=-100, length=5000)
    bed.advance(15_000)
    bed.call("film", length=0)
    assert host.read(0.1) == []


def test_a_search_finds_the_leading_end(bed: Bed, host: RawHost) -> None:
    """Where the end passed is known to the step, although the motion needs its ramp to come to rest."""
    lay(bed, host, 1500, 20000)
    told = host.say("SEEK film 8000", 0.6) + host.say("ASK", 1.0)
    assert "#01 FILM in at=1500" in told
    rest = next(one for one in told if "REST" in one)
    assert rest.endswith("why=seen edge=1500")
    at = int(rest.split("at=")[1].split()[0])
    assert 1500 < at < 1600
    assert bed.count() == at


def test_a_search_without_film_ends_where_it_was_told(bed: Bed, host: RawHost) -> None:
    told = host.say("SEEK film 800", 1.0)
    assert told[-1] == "#01 REST at=800 why=done"


def test_a_search_backwards_finds_it_too(bed: Bed, host: RawHost) -> None:
    lay(bed, host, -20500, 20000)  # its trailing end has passed by 500 steps
    told = host.say("SEEK film -8000", 1.0)
    assert told[1] == "#01 FILM in at=-501"


def test_a_search_for_the_end_finds_it(bed: Bed, host: RawHost) -> None:
    lay(bed, host, 0, 1000)
    told = host.say("SEEK clear 8000", 0.6) + host.say("ASK", 1.0)
    assert "#02 FILM out at=1000" in told
    rest = next(one for one in told if "REST" in one)
    assert rest.endswith("why=seen edge=1000")
    assert 1000 + 200 < bed.count() < 1000 + 200 + 100  # the usual `tail`, and the ramp


def test_the_end_of_the_film_ends_a_motion(bed: Bed, host: RawHost) -> None:
    lay(bed, host, 0, 3000)
    told = host.say("MOVE 20000", 0.7) + host.say("ASK", 1.5)
    assert "#02 FILM out at=3000" in told
    rest = next(one for one in told if "REST" in one)
    assert rest.endswith("why=end edge=3000")
    ramp_down = 8000 * 8000 / (2 * 20000)
    assert bed.count() <= 3000 + 200 + ramp_down * 1.01


def test_the_last_frame_may_still_be_brought_to_the_gate(bed: Bed, host: RawHost) -> None:
    """`overrun`: so far the film may run on after its end has passed the sensor."""
    host.say("KEEP overrun 6000")
    lay(bed, host, 0, 3000)
    told = host.say("MOVE 4960", 2.0)
    assert told[-1] == "#03 REST at=4960 why=done edge=3000"


def test_without_film_the_board_still_moves(bed: Bed, host: RawHost) -> None:
    """To draw film in, or to run it out."""
    assert host.say("MOVE 500", 1.0)[-1] == "#01 REST at=500 why=done"


def test_perforations_are_counted_and_are_no_end(bed: Bed, host: RawHost) -> None:
    host.say("KEEP slack 760")
    lay(bed, host, -200, 100_000, perforated=True)
    told = host.say("MOVE 4940", 2.0)  # 13 perforations
    assert told[-1] == "#02 REST at=4940 why=done"
    assert " film=1 " in host.say("ASK")[0]
    assert " edges=26 " in host.say("ASK")[0]


def test_the_end_of_perforated_film_is_seen(bed: Bed, host: RawHost) -> None:
    host.say("KEEP slack 760")
    lay(bed, host, -200, 5 * PITCH, perforated=True)
    told = host.say("MOVE 20000", 0.7) + host.say("ASK", 1.5)
    rest = next(one for one in told if "REST" in one)
    assert rest.endswith(f"why=end edge={5 * PITCH - 200}")


def test_a_film_that_does_not_follow_is_noticed(bed: Bed, host: RawHost) -> None:
    """Within `slack` steps of the last perforation's edge, without a ramp, so that nothing is torn."""
    host.say("KEEP slack 760")
    host.say("PLACE 0")
    lay(bed, host, -200, 100_000, perforated=True)
    bed.call("stick", on=True)
    told = host.say("MOVE 4940", 2.0)
    assert told[-1] == "#02 REST at=761 why=stall"
    assert bed.count() == 761
    assert " sure=0 " in host.say("ASK")[0]


def test_a_film_that_gets_stuck_on_the_way_is_noticed(bed: Bed, host: RawHost) -> None:
    host.say("KEEP slack 760")
    lay(bed, host, -200, 100_000, perforated=True)
    host.say("MOVE 20000", 0.3)
    while not bed.look()["covered"]:
        bed.advance(1000)
    bed.call("stick", on=True)
    stuck_at = bed.count()
    told = host.read(1.0)
    assert told[-1].endswith("why=stall")
    assert bed.count() - stuck_at <= 761


def test_a_hole_under_the_sensor_at_rest_is_not_the_end(bed: Bed, host: RawHost) -> None:
    host.say("KEEP slack 760")
    lay(bed, host, -200, 100_000, perforated=True)
    bed.call("pull", steps=PITCH - 200 + 20)
    assert bed.look()["covered"] == 0
    assert host.read(0.5) == []
    assert " film=1 " in host.say("ASK")[0]


def test_the_sensor_can_be_turned_over(bed: Bed, host: RawHost) -> None:
    assert host.say("KEEP flip 2")[1:] == ["#01 FILM in at=0"]
    assert lay(bed, host, -100, 5000) == ["#02 FILM out at=0"]
