"""Each page of the registers after a year beside the same page of a department that has hardly begun, as a ratio.

    python -m tests.bench.registers [--rounds N] [--json]

Both departments are served by this process, and what counts is the processor time that an answer takes, the least of
several rounds taken in turn: it says the same on a busy machine. Bytes are those of the page before packing. The full
department has its 900 cases in the journal.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import AsyncExitStack
from datetime import UTC, datetime
from datetime import time as of_day
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import Engine, text

from app.base.database import writing
from app.base.register.spec import Register, Row
from app.base.register.store import changing
from app.base.settings import load
from app.base.time import utc_now
from app.drill.year import ORDER, Case, fill, year
from app.live.books import BOOKS
from app.main import create_app
from tests.app.web.house import House

SEED, ROUNDS, FEW = 7, 7, 2
PATH = "/desk/registers"
NOON = of_day(12)
TODAY = ("/ready/rooms", "/ready/kits", "/ready/stock", "/ready/new-model?who=all", "/protocols")
PAGES = ("", *(f"/{name}" for name in BOOKS), *TODAY)


def begin(engine: Engine) -> None:
    """The first rows of each register, as far as those that they name are there."""
    now = utc_now()
    there: dict[str, list[str]] = {}
    for register in ORDER:
        rows = [_named(register, row, there) for row in year(SEED, now.date()).rows[register.name]]
        few = [row for row in rows if row is not None][:FEW]
        there[register.name] = [str(row["id"]) for row in few]
        with writing(engine) as connection:
            changing.put(register, connection, [(None, row) for row in few], who="desk", now=now)


def _named(register: Register, row: Row, there: Mapping[str, list[str]]) -> Row | None:
    """A row without those whom it names and who are not there; None when it cannot be without one."""
    kept = dict(row)
    for field in register.fields:
        known = there.get(field.ref, [])
        if field.kind == "refs":
            kept[field.name] = " ".join(one for one in str(row[field.name]).split() if one in known)
        elif field.kind == "ref" and row[field.name] is not None and row[field.name] not in known:
            return None
    return kept


async def measure(folder: Path, rounds: int = ROUNDS, cases: int = 0) -> dict[str, dict[str, float]]:
    """Page -> processor time [ms] and kilobytes of both departments, and the ratios. cases: only so many of the year."""
    async with AsyncExitStack() as stack:
        houses = [await _house(stack, folder / name) for name in ("year", "begun")]
        for one, enter in zip(houses, (lambda engine: fill(engine, SEED, utc_now()), begin), strict=True):
            enter(one.live.engine)
            one.live.registers.read()
        await _take(houses[0], year(SEED, utc_now().date()).cases[: cases or None])
        return {page or "index": await _page(houses, PATH + page, rounds) for page in PAGES}


async def _take(house: House, cases: Sequence[Case]) -> None:
    """The year's cases in the journal, each of its day: who wore what. Pages count from them what was used."""
    made = {}
    for number, one in enumerate(cases):
        case = await house.case(f"Y{number}")
        at = made[case] = datetime.combine(one.on, NOON, UTC)
        said = (
            ("case.open", {"procedure": "intubation", "precaution": "airborne", "age": "adult"}),
            *(("don.start", {"p": p, "ens": "airborne", "resp": model}) for p, model in one.worn),
            *(("room.in", {"p": p}) for p, _ in one.worn),
            ("case.close", {}),
        )
        taps = [
            house.tap(case, kind, body, station=house.station("desk"), device_at=at.isoformat(timespec="milliseconds"))
            for kind, body in said
        ]
        answer = await house.client.post("/api/entries", json=taps, headers=house.as_("desk"))
        assert answer.status_code == 200, answer.text
    with writing(house.live.engine) as connection:
        connection.execute(
            text("UPDATE journal_head SET created_at = :at WHERE case_id = :case"),
            [{"case": case, "at": f"{at:%Y-%m-%d %H:%M:%S.%f}"} for case, at in made.items()],
        )


async def _house(stack: AsyncExitStack, folder: Path) -> House:
    folder.mkdir()
    app = create_app(load(db=f"sqlite:///{folder / 'doorside.db'}", data=str(folder)))
    await stack.enter_async_context(app.router.lifespan_context(app))
    client = await stack.enter_async_context(
        httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://door")
    )
    made = House(app, client)
    made.pair("inside")
    made.pair("desk")
    return made


async def _page(houses: list[House], path: str, rounds: int) -> dict[str, float]:
    least, sizes = [float("inf")] * len(houses), [0] * len(houses)
    for _ in range(rounds + 1):  # the first of all also reads its template
        for place, house in enumerate(houses):
            begun = time.process_time()
            answer = await house.client.get(path, headers={**house.as_("desk"), "accept": "text/html"})
            least[place] = min(least[place], 1000 * (time.process_time() - begun))
            sizes[place] = len(answer.content)
            assert answer.status_code == 200, answer.text
    return {
        "year_ms": round(least[0], 2), "begun_ms": round(least[1], 2), "ratio": round(least[0] / least[1], 2),
        "year_kb": round(sizes[0] / 1000, 1), "begun_kb": round(sizes[1] / 1000, 1),
        "bytes_ratio": round(sizes[0] / sizes[1], 2),
    }  # fmt: skip


def main(words: list[str] | None = None) -> None:
    """Prints a table, or one JSON object."""
    parser = argparse.ArgumentParser(prog="tests.bench.registers", description=__doc__)
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--json", action="store_true")
    args = parser.parse_args(words)
    with tempfile.TemporaryDirectory() as folder:
        found: dict[str, Any] = asyncio.run(measure(Path(folder), args.rounds))
    if args.json:
        print(json.dumps(found))
        return
    print("processor time of an answer [ms]      year   begun      ×      kB year   begun      ×")
    for page, one in found.items():
        print(
            f"{page:34} {one['year_ms']:8.2f} {one['begun_ms']:7.2f} {one['ratio']:6.2f}   "
            f"{one['year_kb']:10.1f} {one['begun_kb']:7.1f} {one['bytes_ratio']:6.2f}"
        )


if __name__ == "__main__":
    main(sys.argv[1:])
