"""Names at delivery: the job's template for the takes that count, the store's own names for the others."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import PurePosixPath

from msgspec.structs import replace

from rigd.errors import InputError
from rigd.model.names import USUAL, files_of, look_over, name_of, named
from rigd.model.state import RollState
from rigd.model.values import Job, Take
from rigd.model.words import Stage
from rigd.store.papers import FRAMES, ROLL, papers_of
from rigd.store.sidecar import sidecar_name

RAW, OTHER, NAMES = "raw", "raw/other", "names.csv"


class Names:
    """Names of one roll's files, by its job's template."""

    def __init__(self, job: Job | None, roll: RollState) -> None:
        """Raises InputError where names come twice, or hold what a file system refuses."""
        self._template = (job.names if job else "") or USUAL
        self._files = {file.take_id: file for file in files_of(job, roll)}
        found = named(self._template, self._files.values())
        self._names = {one.take_id: one.name for one in found}
        # That names sort as the film lies is a wish; that each is a name, and its own, is a must.
        wrong = [finding for finding in look_over(found) if finding.code != "order"]
        if wrong:
            raise InputError(wrong[0].what, f"The template is {self._template!r}.", wrong[0].remedy)

    def raw(self, take: Take) -> str:
        """Where the file of a take goes in the roll's folder."""
        kept = self._names.get(take.take_id)
        return f"{RAW}/{kept}" if kept else f"{OTHER}/{PurePosixPath(take.path).name}"

    def picture(self, take: Take) -> str:
        """The name of the picture that a take counts for, without an ending."""
        return PurePosixPath(name_of(self._template, replace(self._files[take.take_id], part=""))).stem


def stored_takes(roll: RollState) -> list[Take]:
    """The takes of a roll whose file is in the store."""
    return [t for t in roll.takes.values() if t.path and t.sha256 and t.stage is not Stage.LOST]


def papers_at_delivery(job: Job | None, roll: RollState, raws: Mapping[str, str]) -> dict[str, bytes]:
    """What is written beside the files, by path in the roll's folder. `raws`: where each file goes, by its path in the
    store."""
    papers = papers_of(job, roll)
    found = {name: papers[f"{roll.roll.folder}/{name}"] for name in (FRAMES, ROLL)}
    found |= {sidecar_name(to): papers[sidecar_name(path)] for path, to in raws.items()}
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerows([("file here", "file in the store"), *((to, path) for path, to in raws.items())])
    return {**found, NAMES: text.getvalue().encode("utf-8-sig")}
