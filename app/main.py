"""Puts the server together. Wiring only."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import Any

from fastapi import FastAPI

from app import __version__
from app.base.database import migrate, open_engine
from app.base.paths import data
from app.base.settings import Settings
from app.journal.keys import open_key, register
from app.live.live import Live
from app.people.sign_in import pins
from app.stations import codes
from app.web import errors, routes
from app.web.certificate import Certificate
from app.web.deps import Proofs
from app.web.lines import Lines
from app.web.road import Doorside
from app.web.security import Guard
from app.web.sessions import Sessions
from app.web.setup_code import SetUp
from app.web.static import Static
from app.web.throttle import Throttle

DemoMaker = Callable[[Live], Any]


def create_app(settings: Settings, demo: DemoMaker | None = None) -> FastAPI:
    """The server as an ASGI application. `demo` makes the player of a demo, given the live process."""

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        migrate(settings.db)
        engine = open_engine(settings.db)
        key = open_key(settings.key_file)
        register(engine, key)
        live = Live(engine, key, settings.zone)
        app.state.live = live
        app.state.code_key, app.state.pin_key = key.secret(codes.PURPOSE), key.secret(pins.PURPOSE)
        app.state.pairing = Throttle()
        app.state.lines = Lines(live, app.state.proofs.forget)
        await live.start()
        await app.state.lines.start()
        if demo is not None:
            app.state.demo = demo(live)
            await app.state.demo.start()
        try:
            yield
        finally:
            if demo is not None:
                await app.state.demo.stop()
            await app.state.lines.stop()
            await live.stop()

    app = Doorside(
        title="Doorside", version=__version__, lifespan=lifespan, docs_url=None, redoc_url=None, openapi_url=None
    )
    app.state.settings = settings
    app.state.proofs = Proofs()
    app.state.sessions = Sessions()
    app.state.setup = SetUp()
    app.state.certificate = Certificate(settings.tls_dir) if settings.tls else None
    app.state.demo = None
    errors.install(app)
    routes.install(app)
    app.mount("/static", Static(directory=data("static")), name="static")
    app.add_middleware(Guard)
    return app
