"""Sidecars, read by programs outside the project: exiv2, and rdflib, which reads RDF/XML and knows nothing of XMP.

Names of properties: Dublin Core (DCMI Metadata Terms), Exif in XMP (CIPA DC-010), IPTC Photo Metadata Standard; the
values of Digital Source Type: IPTC NewsCodes. ISO 16684-1 section 7: a packet is RDF/XML, kinds of lists are rdf:Alt,
rdf:Seq and rdf:Bag.
"""

from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rdflib import RDF, Graph, Literal, Namespace, URIRef

from rigd.model.state import FrameState, RollState
from rigd.model.values import About, Exposure, Frame, Job, Roll, Strip, Take, Verdict
from rigd.model.words import Colour, Film, Purpose, Quality, Stage, Tone
from rigd.store.sidecar import sidecar
from rigd.store.xmp import SPACES, is_untouched

pytestmark = pytest.mark.published

ODD = 'Quai "nord" <3> & Ätna, 港'


def packet(tone: Tone = Tone.NEGATIVE, dates: str = "1957-05-02/1957-06~") -> bytes:
    """A frame of the harbour office's survey, with signs that XML treats apart."""
    about = About(title=ODD, caption="Seen from the crane.\nSecond line.", keywords=("quay", "crane & rope"))
    common = About(photographer="A. Lind", place="Vessling", dates=dates, rights="Port of Vessling")
    frame = Frame("f-00009", "r-0001", "s-0002", 3, "12A")
    take = Take("t-000012", "f-00009", Purpose.WHOLE, 1, Exposure(1 / 60, "1/60", 5.6, 100), Stage.JUDGED,
                path="HO_12/a.dng", sha256="ab" * 32, bytes=9, verdict=Verdict(Film.PICTURE, Quality.GOOD, "good"),
                at=datetime(2031, 3, 9, 20, 15, 3, tzinfo=UTC))  # fmt: skip
    roll = RollState(
        Roll("r-0001", "HO 12", "HO_12", "135", tone, Colour.MONO, about=common, stock="pan 25"),
        strips={"s-0002": Strip("s-0002", "r-0001", 2, 6)},
        frames={"f-00009": FrameState(frame, ("t-000012",), ("t-000012",), Film.PICTURE, about=about)},
        takes={"t-000012": take},
    )
    return sidecar(Job("j", "Survey of the quays"), roll, take, 9)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    place = tmp_path / "a.xmp"
    place.write_bytes(packet())
    return place


@pytest.mark.skipif(shutil.which("exiv2") is None, reason="Debian's exiv2 is not installed")
def test_exiv2_reads_every_standard_property(file: Path) -> None:
    done = subprocess.run(["exiv2", "-PXkt", str(file)], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    found = {key: value.strip() for key, _, value in (line.partition(" ") for line in done.stdout.splitlines())}
    expected = {
        "Xmp.dc.title": f'lang="x-default" {ODD}', "Xmp.dc.creator": "A. Lind", "Xmp.dc.subject": "quay, crane & rope",
        "Xmp.dc.rights": 'lang="x-default" Port of Vessling', "Xmp.dc.source": "HO 12",
        "Xmp.iptc.Location": "Vessling", "Xmp.photoshop.DateCreated": "1957-05-02",
        "Xmp.photoshop.TransmissionReference": "Survey of the quays", "Xmp.exif.ExposureTime": "1/60",
        "Xmp.exif.FNumber": "F5.6", "Xmp.exif.ISOSpeedRatings": "100",
        "Xmp.exif.DateTimeDigitized": "2031-03-09T20:15:03+00:00", "Xmp.exifEX.PhotographicSensitivity": "100",
        "Xmp.dc.coverage": "Vessling; 1957-05-02/1957-06~",
    }  # fmt: skip
    assert {key: found.get(key) for key in expected} == expected
    assert "negativeFilm" in found["Xmp.iptcExt.DigitalSourceType"]


def graph(content: bytes) -> Graph:
    """The RDF inside the wrapper: the packet and xmpmeta elements are no part of it."""
    text = content.decode()
    start, end = text.index("<rdf:RDF"), text.index("</rdf:RDF>") + len("</rdf:RDF>")
    return Graph().parse(data=text[start:end], format="xml", publicID="urn:a")


def test_rdf_reads_the_same(file: Path) -> None:
    known = graph(file.read_bytes())
    (about,) = {s for s in known.subjects() if isinstance(s, URIRef)}
    dc, exif, ours = (Namespace(SPACES[name]) for name in ("dc", "exif", "rigd"))
    title = known.value(about, dc["title"])
    assert (title, RDF.type, RDF.Alt) in known
    assert known.value(title, RDF["_1"]) == Literal(ODD, lang="x-default")
    creators = known.value(about, dc["creator"])
    assert creators is not None
    assert known.value(creators, RDF["_1"]) == Literal("A. Lind")
    assert known.value(about, exif["ExposureTime"]) == Literal("1/60")
    names = ("roll", "strip", "place", "number", "edgeMark", "base")
    told = {name: str(known.value(about, ours[name])) for name in names}
    assert told == {"roll": "HO 12", "strip": "2", "place": "3", "number": "9", "edgeMark": "12A", "base": "unknown"}
    assert str(known.value(about, ours["rawSha256"])) == "ab" * 32


@pytest.mark.parametrize(("dates", "created"), [("1957-05/1957-06", "1957-05"), ("1957~", "1957"), ("1957?", "1957")])
def test_a_date_is_told_as_exactly_as_it_is_known(dates: str, created: str) -> None:
    """An XMP date may be a year or a month (ISO 16684-1, 8.2.1.2); what it cannot say stands in dc:coverage."""
    known = graph(packet(dates=dates))
    assert {str(o) for o in known.objects(None, Namespace(SPACES["photoshop"])["DateCreated"])} == {created}
    assert {str(o) for o in known.objects(None, Namespace(SPACES["dc"])["coverage"])} == {f"Vessling; {dates}"}


def test_a_slide_says_that_it_is_a_positive() -> None:
    assert b"digitalsourcetype/positiveFilm<" in packet(Tone.POSITIVE)


def test_a_packet_knows_whether_somebody_changed_it() -> None:
    content = packet()
    assert is_untouched(content)
    assert not is_untouched(content.replace(b"Lind", b"Lund"))
    assert not is_untouched(b"<x:xmpmeta/>")
