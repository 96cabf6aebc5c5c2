"""Workers of an existing Dask cluster, for rolls that one machine is slow for. An optional extra.

The cluster's workers must see the job's folder and the delivery's folder under the same paths, as a shared disk gives
them, and have rigd installed in the same version. What they make is the same, bit for bit.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from rigd.errors import InputError
from rigd.handover.slots import WorkerDied

R = TypeVar("R")


class ClusterWorkers:
    """As many slots as the cluster has threads. Use `reached` to make one."""

    def __init__(self, client: Any, size: int) -> None:
        self.size = size
        self._client = client

    async def run(self, slot: int, work: Callable[..., R], *args: Any) -> R:
        from distributed import KilledWorker

        try:
            # Never from an earlier run's memory: the files must be made where they are missing.
            result: R = await self._client.submit(work, *args, pure=False)
        except KilledWorker as error:
            raise WorkerDied(
                "A worker of the cluster ended in the middle of its work, several times.", f"{error}.",
                "Look at the cluster's own log; or hand over without --cluster.",
            ) from error
        return result

    async def close(self) -> None:
        await self._client.close()


async def _client(kind: Any, address: str, timeout_s: float) -> Any:
    return await kind(address, asynchronous=True, timeout=timeout_s, set_as_default=False)


async def reached(address: str, timeout_s: float = 10.0) -> ClusterWorkers:
    """The cluster whose scheduler is at `address` (tcp://host:port).

    Raises:
        InputError: the package is missing, nobody answers there, or it has no workers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        what = "A cluster needs a package that is not installed."
        raise InputError(what, f"{error}.", "pip install distributed") from error
    try:
        client = await _client(Client, address, timeout_s)
    except (OSError, TimeoutError, ValueError) as error:
        remedy = "Give its scheduler's address, such as tcp://host:8786."
        raise InputError(f"No cluster answers at {address}.", f"{error}.", remedy) from error
    threads = sum((await client.nthreads()).values())
    if not threads:
        await client.close()
        raise InputError(f"The cluster at {address} has no workers.", "", "Start some: dask worker ADDRESS.")
    return ClusterWorkers(client, threads)
