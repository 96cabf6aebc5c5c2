"""So many phones as a process of their own: each watches the live line with 25 pictures a second and acknowledges them.

`python watchers.py URL TOKEN COUNT` prints a line when all of them have had a picture, and ends with its input; then
it prints how many pictures each one got."""

from __future__ import annotations

import asyncio
import json
import sys

from websockets.asyncio.client import connect


async def phone(url: str, token: str, seen: list[int], ready: asyncio.Event) -> None:
    headers = {"Authorization": f"Bearer {token}"}
    async with connect(url, additional_headers=headers, compression=None, max_size=None) as line:
        await line.send('{"kind": "watch", "live": true, "rate": 25}')
        number = 0
        async for message in line:
            if isinstance(message, bytes):
                seen[0] += 1
                ready.set()
                await line.send(json.dumps({"kind": "seen", "picture": number}))
            elif '"kind":"picture"' in message:
                number = json.loads(message)["number"]


async def main(url: str, token: str, count: int) -> None:
    seen, ready = [[0] for _ in range(count)], [asyncio.Event() for _ in range(count)]
    tasks = [asyncio.create_task(phone(url, token, *one)) for one in zip(seen, ready, strict=True)]
    await asyncio.gather(*(one.wait() for one in ready))
    print("ready", flush=True)
    await asyncio.to_thread(sys.stdin.read)
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    print(json.dumps([one[0] for one in seen]), flush=True)


if __name__ == "__main__":
    asyncio.run(main(sys.argv[1], sys.argv[2], int(sys.argv[3])))
