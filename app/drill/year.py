"""A year of an invented department, for its registers: 80 people, 12 rooms, the use of 900 cases. Nobody here is real.

Everything follows from a seed and a day: the same two make the same rows. It is for tests, for looking at pages as they
are after a year, and for the demo's registers; it makes no live case.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from sqlalchemy import Engine

from app.base.database import writing
from app.base.register.spec import Register, Row
from app.base.register.store import changing, reading
from app.drill.year_kit import kit_rows
from app.drill.year_names import FIRST, JOBS, LAST
from app.kit import registers as kit
from app.people import duty, organisms
from app.people import registers as people
from app.rooms import registers as rooms

DAYS = 365
PEOPLE, ROOMS, CASES = 80, 12, 900
MODELS = (
    ("K2", "half", "S M L"),
    ("M1", "half", ""),
    ("Q7", "half", "S M"),
    ("T90", "full", ""),
    ("Bell H1", "hood", ""),
)
ORDER: tuple[Register, ...] = (
    duty.PRACTICE, organisms.ORGANISMS, kit.RESPIRATORS, people.PEOPLE, people.FIT_TESTS, people.IMMUNITY, duty.SHIFTS,
    rooms.ROOMS, rooms.ROOM_CHECKS, kit.STOCK, kit.KIT_TEMPLATES, kit.KIT_ITEMS, kit.KITS, kit.KIT_CONTENTS,
    kit.KIT_CHECKS, kit.CYLINDERS, organisms.FOLLOW_UPS,
)  # fmt: skip
"""Registers in the order in which their rows can be entered: each after what it names."""


@dataclass(frozen=True, slots=True)
class Case:
    """What one invented case took: the day, the room, and who wore which model."""

    on: date
    room: str
    worn: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Year:
    """A year's rows by register, and the cases from which use was counted."""

    rows: Mapping[str, list[Row]]
    cases: tuple[Case, ...]


def year(seed: int, today: date) -> Year:
    """The year that ends with `today`."""
    chance = Random(seed)
    found: dict[str, list[Row]] = {
        "practice": [
            {
                "id": "department", "name": "Anaesthesia (DRILL)", "country": "UK", "fit_reading": "both",
                "ach_days": 365, "room_check_h": 24, "kit_check_h": 24,
            }
        ],
        "organisms": [{"id": f"y-o{n}", **row} for n, row in enumerate(organisms.ORGANISMS.starters())],  # type: ignore[misc]
        "respirators": [
            {"id": f"y-m{n}", "model": model, "face": face, "sizes": sizes, "note": None, "active": True}
            for n, (model, face, sizes) in enumerate(MODELS)
        ],
    }  # fmt: skip
    found["people"] = _people(chance, today)
    found["fit-tests"] = _fit_tests(chance, today, found["people"])
    found["immunity"] = [
        {
            "id": f"y-i{n}", "person_id": person["id"], "condition": "measles", "recorded_on": None,
            "state": chance.choices(("yes", "no", "unknown"), (86, 4, 10))[0],
        }
        for n, person in enumerate(found["people"])
    ]  # fmt: skip
    found["shifts"] = _shifts(chance, today, found["people"])
    found["rooms"] = _rooms(chance, today)
    found["room-checks"] = _room_checks(chance, today, found["rooms"], found["people"])
    cases = _cases(chance, today, found)
    worn = [model for case in cases for _, model in case.worn if (today - case.on).days < 7]
    found |= kit_rows(chance, today, MODELS, worn)
    found["follow-ups"] = []
    return Year(found, tuple(cases))


def _at(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime.combine(day, time(hour, minute), UTC)


def _people(chance: Random, today: date) -> list[Row]:
    pairs = [(first, last) for first in FIRST for last in LAST]
    chance.shuffle(pairs)
    found: list[Row] = []
    for n, (first, last) in enumerate(pairs[:PEOPLE]):
        job, roles = JOBS[n % len(JOBS)]
        hood = chance.random() < 0.3
        model = chance.choices([one[0] for one in MODELS[:3]], (6, 3, 1))[0]
        drilled = today - timedelta(days=chance.randrange(10, 450))
        found.append({
            "id": f"y-p{n}", "name": f"{first} {last}", "initials": first[0] + last[0], "job": job, "roles": roles,
            "resp": "hood" if hood and chance.random() < 0.4 else f"tight:{model}", "hood": hood,
            "drill": None if chance.random() < 0.05 else drilled, "no_entry": chance.random() < 0.03,
            "active": n < PEOPLE - 4,
        })  # fmt: skip
    return found


def _fit_tests(chance: Random, today: date, staff: list[Row]) -> list[Row]:
    found: list[Row] = []
    ids = {model: f"y-m{n}" for n, (model, _, _) in enumerate(MODELS)}
    sizes = {model: words.split() for model, _, words in MODELS}
    for person in staff:
        usual = str(person["resp"]).removeprefix("tight:")
        also = {"K2", "M1"} if usual == "hood" else {usual, chance.choice(("K2", "M1", "Q7"))}
        for model in sorted(also):
            size = chance.choice(sizes[model]) if sizes[model] else None
            first = chance.randrange(20, 430)
            for days in {first, first + 365} if first < 60 else {first}:
                found.append(_fit_test(chance, len(found), person, ids[model], size, today - timedelta(days=days)))
    return found


def _fit_test(chance: Random, n: int, person: Row, model: str, size: str | None, on: date) -> Row:
    tasted = chance.random() < 0.25
    low = 60 if chance.random() < 0.06 else 130
    factors = " ".join(str(chance.randrange(low, 2400)) for _ in range(7))
    return {
        "id": f"y-f{n}", "person_id": person["id"], "respirator_id": model, "size": size, "tested_on": on,
        "method": "bitter aerosol" if tasted else "ambient particle count", "factors": "" if tasted else factors,
        "result": ("pass" if chance.random() < 0.95 else "fail") if tasted else None, "tested_by": "Fit-test desk",
    }  # fmt: skip


def _shifts(chance: Random, today: date, staff: list[Row]) -> list[Row]:
    ids = [str(one["id"]) for one in staff if one["active"]]
    found: list[Row] = []
    for back in range(DAYS, -2, -1):
        day = today - timedelta(days=back)
        for name, start, hours in (("Day", 7, 12), ("Night", 19, 12)):
            on = " ".join(sorted(chance.sample(ids, 14 if name == "Day" else 8)))
            begin = _at(day, start)
            found.append({
                "id": f"y-s{len(found)}", "name": name, "starts_at": begin, "ends_at": begin + timedelta(hours=hours),
                "people": on,
            })  # fmt: skip
    return found


def _rooms(chance: Random, today: date) -> list[Row]:
    found: list[Row] = []
    for n in range(ROOMS):
        measured = n != ROOMS - 1
        lobby = n % 4 == 3
        found.append({
            "id": f"y-r{n}", "name": f"Isolation {n + 1}", "volume_m3": 36.0 + 2 * n,
            "ach": float(chance.choice((6, 8, 10, 12, 12, 15))) if measured else None,
            "ach_on": today - timedelta(days=chance.randrange(20, 420)) if measured else None,
            "clear": 99.9 if n % 3 else 99.0, "mixing": 1.0 if measured else None,
            "meant": "positive" if lobby else "negative", "reference": "lobby to corridor" if lobby else "corridor",
            "limit_pa": 8.0 if lobby else -2.5, "anteroom": f"Lobby {n // 2 + 1}" if lobby or n % 4 == 2 else None,
            "neighbours": None if n == 0 else f"Isolation {n}", "state": "out of order" if n == 9 else "ready",
            "released_by": "Estates", "released_on": today - timedelta(days=chance.randrange(1, 300)), "active": True,
        })  # fmt: skip
    return found


def _room_checks(chance: Random, today: date, wards: list[Row], staff: list[Row]) -> list[Row]:
    found: list[Row] = []
    for n, room in enumerate(wards):
        middle = 11.0 if room["meant"] == "positive" else -6.5
        for back in range(DAYS, -1, -1):
            if chance.random() < (0.04 if n % 5 else 0.3):
                continue
            drift = 4.5 if n == 4 and back < 6 else 0.0
            found.append({
                "id": f"y-c{len(found)}", "room_id": room["id"],
                "checked_at": _at(today - timedelta(days=back), 6 if back else 0, chance.randrange(0, 5)),
                "pressure_pa": round(middle + chance.gauss(0, 1.1) + drift, 1), "reference": room["reference"],
                "direction": "outwards" if middle > 0 else "inwards", "door_shut": True,
                "checked_by": str(chance.choice(staff)["name"]), "note": None,
            })  # fmt: skip
    return found


def _cases(chance: Random, today: date, found: Mapping[str, list[Row]]) -> list[Case]:
    staff = [one for one in found["people"] if one["active"]]
    made = []
    for _ in range(CASES):
        crew = chance.sample(staff, 4)
        worn = tuple(
            (str(one["id"]), str(one["resp"]).removeprefix("tight:"))
            for one in crew
            if str(one["resp"]).startswith("tight:")
        )
        day = today - timedelta(days=chance.randrange(0, DAYS))
        made.append(Case(day, str(chance.choice(found["rooms"])["id"]), worn))
    return sorted(made, key=lambda case: case.on)


def fill(engine: Engine, seed: int, now: datetime) -> int:
    """Enters a year in the registers, each row with its history; what is there already stays. Gives how many rows."""
    return _entered(engine, year(seed, now.date()).rows, ORDER, now)


def _entered(engine: Engine, made: Mapping[str, list[Row]], order: tuple[Register, ...], now: datetime) -> int:
    entered = 0
    same: dict[str, str] = {}
    for register in order:
        rows = [_named(register, row, same) for row in made[register.name]]
        there = {register.key_of(row): str(row["id"]) for row in reading.find(register, engine)}
        same |= {str(row["id"]): there[key] for row in rows if (key := register.key_of(row)) in there}
        if register.only and there:
            continue
        fresh = [(None, row) for row in rows if register.key_of(row) not in there]
        with writing(engine) as connection:
            changing.put(register, connection, fresh, who="desk", now=now)
        entered += len(fresh)
    return entered


def _named(register: Register, row: Row, same: Mapping[str, str]) -> Row:
    """A row that names what is there already, where the year has the like."""
    changed = dict(row)
    for one in register.fields:
        if one.kind == "ref":
            changed[one.name] = same.get(str(row[one.name]), row[one.name])
    return changed


IN_THE_DEMO = (
    duty.PRACTICE, organisms.ORGANISMS, kit.RESPIRATORS, duty.SHIFTS, rooms.ROOM_CHECKS, kit.STOCK, kit.KIT_TEMPLATES,
    kit.KIT_ITEMS, kit.KITS, kit.KIT_CONTENTS, kit.KIT_CHECKS, kit.CYLINDERS,
)  # fmt: skip
"""What the demo takes of a year. Its people, rooms and fit tests are those of its night, and stay."""


def fill_demo(engine: Engine, seed: int, now: datetime) -> int:
    """Enters a year about the people and rooms that are in the registers already. Gives how many rows."""
    staff, wards = reading.find(people.PEOPLE, engine), reading.find(rooms.ROOMS, engine)
    chance, today = Random(seed), now.date()
    if reading.count(duty.PRACTICE, engine) or not staff or not wards:
        return 0
    made = dict(year(seed, today).rows)
    told: Row = {"meant": "negative", "reference": "corridor", "limit_pa": -2.5, "released_by": "Estates"}
    proven: list[Row] = [
        {**ward, **told, "ach_on": today - timedelta(days=90) if ward["ach"] else None} for ward in wards
    ]
    with writing(engine) as connection:
        changing.put(rooms.ROOMS, connection, list(zip(wards, proven, strict=True)), who="desk", now=now)
    made["shifts"] = _shifts(chance, today, staff)[-30:]
    made["room-checks"] = _room_checks(chance, today, proven, staff)
    return _entered(engine, made, IN_THE_DEMO, now)
