"""Small help with asyncio tasks."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine


async def first_done(*coroutines: Coroutine[None, None, None]) -> None:
    """Run all at once until one ends, cancel the others, and raise what the one that ended raised."""
    tasks = [asyncio.ensure_future(coroutine) for coroutine in coroutines]
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    for task in done:
        task.result()
