"""An evening's work at 390x844, by the thumb: a code, a strip, a retake, a lost line, a hand-over, all views."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.browser.conftest import PHONE
from tests.browser.day import whole_day

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


async def test_an_evening_on_a_phone(eyes: Eyes, tmp_path: Path) -> None:
    await whole_day("phone", PHONE, eyes, tmp_path)
