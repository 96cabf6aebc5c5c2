"""An evening's work at 1440x900, by mouse and keys: a code, a strip, a retake, a lost line, a hand-over, all views."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.browser.conftest import WIDE
from tests.browser.day import whole_day

if TYPE_CHECKING:
    from tests.browser.conftest import Eyes

pytestmark = pytest.mark.browser


async def test_an_evening_at_a_wide_screen(eyes: Eyes, tmp_path: Path) -> None:
    await whole_day("wide", WIDE, eyes, tmp_path)
