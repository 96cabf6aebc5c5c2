"""What lies beside each raw: an XMP file that tells what the picture is, for every program that reads such.

Dublin Core, Exif (CIPA DC-010) and IPTC Photo Metadata where they have a word for it; the film itself, its place on the
roll and what was judged in a namespace of our own. Nothing about the raw changes with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import PurePosixPath

from rigd.model.metadata import about_frame, about_roll
from rigd.model.order import film_kind
from rigd.model.state import FrameState, RollState
from rigd.model.values import About, Job, Take
from rigd.model.words import Purpose, Tone
from rigd.store.xmp import Lang, Many, Text, Value, packet

# IPTC NewsCodes, "Digital Source Type".
_SOURCE = "http://cv.iptc.org/newscodes/digitalsourcetype/"
_PLAIN_DATE = re.compile(r"\d{4}(-\d{2}){0,2}")
# No shutter is known more exactly.
_FINEST = 100_000

Property = tuple[str, Value]


def sidecar_name(path: str) -> str:
    """The sidecar of a raw: the same name with another end (XMP Specification part 3, "External storage")."""
    return str(PurePosixPath(path).with_suffix(".xmp"))


def sidecar(job: Job | None, roll: RollState, take: Take, number: int | None) -> bytes:
    """The sidecar of one take.

    Args:
        number: of its frame on the roll, from 1; None for a take of a label.
    """
    frame = roll.frames.get(take.frame_id or "")
    told = about_frame(job, roll.roll, frame) if frame else about_roll(job, roll.roll)
    return packet([*_told(told, roll, number), *_exposure(take), *_source(job, roll, take), *_film(roll, frame, number),
                   *_take(roll, take, frame)])  # fmt: skip


def _told(about: About, roll: RollState, number: int | None) -> Iterator[Property]:
    usual = f"{roll.roll.label}, label" if number is None else f"{roll.roll.label}, frame {number}"
    yield "dc:title", Lang(about.title or usual)
    for name, text in (("dc:description", about.caption), ("dc:rights", about.rights)):
        if text:
            yield name, Lang(text)
    if about.photographer:
        yield "dc:creator", Many((about.photographer,), ordered=True)
    if about.keywords:
        yield "dc:subject", Many(about.keywords)
    if about.reference:
        yield "dc:identifier", Text(about.reference)
    if about.place:
        yield "Iptc4xmpCore:Location", Text(about.place)
    yield from _dates(about)
    for name, text in (("rigd:filmCamera", about.camera), ("rigd:filmLens", about.lens), ("rigd:stock", about.stock),
                       ("rigd:process", about.process)):  # fmt: skip
        if text:
            yield name, Text(text)


def _dates(about: About) -> Iterator[Property]:
    """When the film was exposed: what no XMP date can say (about, perhaps, until) stands in the coverage in full."""
    if about.dates:
        found = _PLAIN_DATE.match(about.dates)
        if found:
            yield "photoshop:DateCreated", Text(found[0])
    covered = "; ".join(text for text in (about.place, about.dates) if text)
    if covered:
        yield "dc:coverage", Text(covered)


def _exposure(take: Take) -> Iterator[Property]:
    """Of the camera on the copy stand."""
    if take.at is not None:
        at = take.at.isoformat(timespec="seconds")
        yield "xmp:CreateDate", Text(at)
        yield "exif:DateTimeDigitized", Text(at)
    yield "exif:ExposureTime", Text(_ratio(take.want.shutter_s))
    if take.want.f_number:
        yield "exif:FNumber", Text(_ratio(take.want.f_number))
    if take.want.iso:
        yield "exif:ISOSpeedRatings", Many((str(take.want.iso),), ordered=True)
        yield "exifEX:PhotographicSensitivity", Text(str(take.want.iso))


def _ratio(value: float) -> str:
    ratio = Fraction(value).limit_denominator(_FINEST)
    return f"{ratio.numerator}/{ratio.denominator}"


def _source(job: Job | None, roll: RollState, take: Take) -> Iterator[Property]:
    tone, _ = film_kind(roll, take.frame_id)
    if take.purpose is not Purpose.LABEL:
        film = "negativeFilm" if tone is Tone.NEGATIVE else "positiveFilm"
        yield "Iptc4xmpExt:DigitalSourceType", Text(_SOURCE + film)
    if job is not None:
        yield "photoshop:TransmissionReference", Text(job.title)
    yield "dc:source", Text(", ".join(text for text in (roll.roll.label, roll.roll.where) if text))
    yield "xmp:CreatorTool", Text("rigd")


def _film(roll: RollState, frame: FrameState | None, number: int | None) -> Iterator[Property]:
    plan = roll.roll
    tone, colour = film_kind(roll, frame.frame.frame_id if frame else None)
    yield "rigd:roll", Text(plan.label)
    yield "rigd:format", Text(plan.film_format)
    yield "rigd:tone", Text(tone)
    yield "rigd:colour", Text(colour)
    yield "rigd:base", Text(plan.base_type)
    if frame is None or number is None:
        return
    strip = roll.strips[frame.frame.strip_id]
    yield "rigd:frame", Text(frame.frame.frame_id)
    yield "rigd:number", Text(str(number))
    yield "rigd:strip", Text(str(strip.number))
    yield "rigd:place", Text(str(frame.frame.place))
    if frame.frame.mark:
        yield "rigd:edgeMark", Text(frame.frame.mark)
    if frame.film is not None:
        yield "rigd:shows", Text(frame.film)


def _take(roll: RollState, take: Take, frame: FrameState | None) -> Iterator[Property]:
    yield "rigd:take", Text(take.take_id)
    yield "rigd:purpose", Text(take.purpose)
    yield "rigd:rawFile", Text(PurePosixPath(take.path).name)
    yield "rigd:rawSha256", Text(take.sha256)
    if frame is not None:
        yield "rigd:keeper", Text("True" if take.take_id in frame.keeper else "False")
    if take.verdict is not None:
        yield "rigd:judged", Text(take.verdict.take)
        yield "rigd:judgedWhy", Text(take.verdict.why)
