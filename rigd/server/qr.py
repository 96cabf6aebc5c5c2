"""A link as a QR code (ISO/IEC 18004): rows of modules for the page, and half blocks for the terminal."""

from __future__ import annotations

import io

import segno

# Level M restores about 15 % of the code (ISO/IEC 18004): a scratched screen or a fold of the terminal may be lost.
LEVEL = "m"


def rows(link: str) -> list[str]:
    """One text a row, "1" for a dark module and "0" for a light one, without the quiet zone."""
    return ["".join("1" if module else "0" for module in row) for row in _code(link).matrix]


def for_terminal(link: str) -> str:
    """The code as lines of text, light modules drawn, its quiet zone around it: for terminals with a dark ground."""
    out = io.StringIO()
    _code(link).terminal(out=out, compact=True)
    return out.getvalue()


def _code(link: str) -> segno.QRCode:
    return segno.make_qr(link, error=LEVEL)
