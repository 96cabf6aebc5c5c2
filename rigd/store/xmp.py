"""An XMP packet (ISO 16684-1) as a file of its own: text, lists and structures written as RDF/XML.

The packet tells by a checksum of its own whether somebody else has changed it since: what others wrote is never lost.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

SPACES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "photoshop": "http://ns.adobe.com/photoshop/1.0/",
    "exif": "http://ns.adobe.com/exif/1.0/",
    "exifEX": "http://cipa.jp/exif/1.0/",
    "Iptc4xmpCore": "http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/",
    "Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",
    "rigd": "urn:rigd:film:1.0/",
}
"""Namespaces of Dublin Core, XMP, Exif (CIPA DC-010), IPTC Photo Metadata; and our own, for the film itself."""

_HEAD = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n<x:xmpmeta xmlns:x="adobe:ns:meta/">\n'
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_TAIL = ' </rdf:RDF>\n</x:xmpmeta>\n<?xpacket end="w"?>\n'
_BLANK = "0" * 64
_CHECK = re.compile(rb'(rigd:written=")([0-9a-f]{64})(")')


@dataclass(frozen=True)
class Text:
    """One plain value."""

    value: str


@dataclass(frozen=True)
class Lang:
    """Text in one language, nobody says which."""

    value: str


@dataclass(frozen=True)
class Many:
    """Several values; `ordered` where their order says something."""

    values: tuple[str, ...]
    ordered: bool = False


Value = Text | Lang | Many


def packet(properties: Iterable[tuple[str, Value]]) -> bytes:
    """The file, in UTF-8. Names carry their prefix (`dc:title`); all signs must be such as XML 1.0 can hold."""
    spaces = "".join(f'\n    xmlns:{prefix}="{uri}"' for prefix, uri in SPACES.items())
    body = "".join(f"   <{name}>{_written(value)}</{name}>\n" for name, value in properties)
    text = (
        f'{_HEAD} <rdf:RDF xmlns:rdf="{_RDF}">\n  <rdf:Description rdf:about=""{spaces}\n'
        f'    rigd:written="{_BLANK}">\n{body}  </rdf:Description>\n{_TAIL}'
    )
    blank = text.encode()
    return blank.replace(_BLANK.encode(), _digest(blank), 1)


def is_untouched(content: bytes) -> bool:
    """True for a packet of ours that nobody has changed since."""
    found = _CHECK.search(content)
    if found is None:
        return False
    blank = content[: found.start(2)] + _BLANK.encode() + content[found.end(2) :]
    return found[2] == _digest(blank)


def _digest(content: bytes) -> bytes:
    return hashlib.sha256(content).hexdigest().encode()


def _written(value: Value) -> str:
    match value:
        case Text(text):
            return escape(text)
        case Lang(text):
            return f"<rdf:Alt><rdf:li xml:lang={quoteattr('x-default')}>{escape(text)}</rdf:li></rdf:Alt>"
        case Many(values, ordered):
            kind = "Seq" if ordered else "Bag"
            return f"<rdf:{kind}>" + "".join(f"<rdf:li>{escape(v)}</rdf:li>" for v in values) + f"</rdf:{kind}>"
