"""The app: routes over the operations, behind the guard."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

from rigd.operations.all_verbs import ALL_VERBS
from rigd.operations.desk import Desk
from rigd.server import problems
from rigd.server.description import Schemas, describe
from rigd.server.guard import Guard, GuardConfig
from rigd.server.routes import doing, entering, looking, monitoring, people, pictures, rolls, running


def make_app(desk: Desk, guard: GuardConfig, web_root: Path, quit_daemon: Callable[[], None]) -> FastAPI:
    """Everything that is served on one port.

    Args:
        desk: what the operations work on.
        guard: under which names rigd answers, and who has come in.
        web_root: the folder of the page's files.
        quit_daemon: called when the host asks rigd to end.
    """
    app = FastAPI(title="rigd", docs_url=None, redoc_url=None, openapi_url="/api/openapi.json")
    problems.install(app)
    schemas = Schemas(ALL_VERBS)
    for part in (
        entering.doors(guard), entering.own_session(guard), entering.leaving(quit_daemon), people.pairing(guard),
        people.devices(guard), people.who_works(guard), people.control(guard), running.hands_on(desk),
        running.going_on(desk), running.halting(desk),
        rolls.reading(desk), rolls.writing(desk), rolls.hands_on(desk),
        pictures.pictures(desk), pictures.full_sizes(desk), pictures.sheets(desk),
        looking.reading(desk), looking.writing(desk), looking.live_line(desk, guard), monitoring.reading(desk, guard),
        *doing.routers(desk, ALL_VERBS, schemas),
    ):  # fmt: skip
        app.include_router(part)
    describe(app, schemas, guard)
    # Only what is the same for everybody is compressed: a compressed answer tells of its secrets by its length.
    app.mount("/", GZipMiddleware(StaticFiles(directory=web_root, html=True)))
    app.add_middleware(Guard, config=guard)
    return app
