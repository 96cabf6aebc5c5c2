"""`python on_cluster.py PLAN.json JOB OUT`: a delivery on a Dask cluster that this process starts on loopback.

A process of its own, because the cluster's library keeps a thread for as long as its process lives."""

from __future__ import annotations

import asyncio
import sys
from datetime import date
from pathlib import Path

import msgspec
from distributed import LocalCluster

from rigd.handover.cluster import reached
from rigd.handover.deliver import Delivery
from rigd.handover.planning import RollPlan


async def main(plan: Path, job: Path, out: Path) -> None:
    roll = msgspec.json.decode(plan.read_bytes(), type=RollPlan)
    async with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, asynchronous=True, dashboard_address=None, host="127.0.0.1",
        local_directory=str(plan.parent),
    ) as cluster:  # fmt: skip
        workers = await reached(cluster.scheduler_address)
        try:
            done = await Delivery("j-1", "Survey", (roll,), job, out, workers).run(date(2026, 3, 1))
        finally:
            await workers.close()
    print(workers.size, done.made)


if __name__ == "__main__":
    asyncio.run(main(*(Path(word) for word in sys.argv[1:4])))
