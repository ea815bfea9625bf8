"""`doorside demo`: an invented hospital, alive, on this machine. Everything in it is made up; every page says DRILL."""

from __future__ import annotations

import argparse
import asyncio
import tempfile
from pathlib import Path

from app.base.settings import load
from app.base.time import utc_now
from app.cli.serve import add_words, listen
from app.drill import rights
from app.drill.demo import Demo, start_demo
from app.drill.department import YOURS, staff, wards
from app.drill.register import register
from app.drill.year import fill_demo
from app.live.live import Live


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """`doorside demo [--db URL] [--host H] [--port N]`."""
    parser = subparsers.add_parser("demo", help="an invented hospital, alive, on this machine")
    add_words(parser)


def run(args: argparse.Namespace) -> int:
    """Serves the demo until it is stopped. Without --db its database is thrown away at the end."""
    with tempfile.TemporaryDirectory(prefix="doorside-demo-") as folder:
        db = args.db or f"sqlite:///{Path(folder) / 'demo.db'}"
        settings = load(db=db, host=args.host, port=args.port, data=folder if args.db is None else None)
        return listen(settings, Playing)


class Playing:
    """The demo of a server: the department in its registers and the night being played."""

    def __init__(self, live: Live) -> None:
        self._live = live
        self._demo: Demo | None = None
        self.pin = rights.new_pin()
        self.charge = rights.CHARGE

    @property
    def left_to_the_user(self) -> str | None:
        """The case in which nothing is played: whoever tries the demo taps it."""
        return None if self._demo is None else self._demo.cases.get(YOURS)

    async def start(self) -> None:
        """Fills the registers and begins the night; returns when all that lies before now is stored."""
        await asyncio.to_thread(register, self._live.engine, staff(utc_now(), self._live.zone), wards())
        await asyncio.to_thread(rights.grant, self._live.engine, self.pin, utc_now())
        await asyncio.to_thread(fill_demo, self._live.engine, 1, utc_now())
        self._live.registers.read()
        self._demo = await asyncio.to_thread(start_demo, self._live.writer, zone=self._live.zone)

    async def stop(self) -> None:
        """Plays nothing more."""
        if self._demo is not None:
            await asyncio.to_thread(self._demo.stop)

    async def restart(self) -> None:
        """Ends the night's cases and begins anew."""
        if self._demo is not None:
            await asyncio.to_thread(self._demo.stop)
            await asyncio.to_thread(self._demo.end_cases)
        self._demo = await asyncio.to_thread(start_demo, self._live.writer, zone=self._live.zone)
