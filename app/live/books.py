"""Every register of the department by name, in the order in which pages list them, and how their rows are called."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from sqlalchemy import Engine

from app.base.errors import Unknown
from app.base.messages import N_
from app.base.register.spec import Names, Register, Row
from app.base.register.store import reading
from app.kit import registers as kit
from app.people import duty, organisms, registers
from app.people.registers import FACES
from app.protocol.library import protocols
from app.rooms import registers as rooms

GROUPS: tuple[tuple[str, tuple[Register, ...]], ...] = (
    (
        N_("People"),
        (registers.PEOPLE, registers.FIT_TESTS, registers.IMMUNITY, duty.SHIFTS),
    ),
    (N_("Rooms"), (rooms.ROOMS, rooms.ROOM_CHECKS)),
    (
        N_("Kit"),
        (
            kit.RESPIRATORS, kit.STOCK, kit.KITS, kit.KIT_CONTENTS, kit.KIT_CHECKS, kit.KIT_TEMPLATES, kit.KIT_ITEMS,
            kit.CYLINDERS,
        ),
    ),
    (N_("Rules of the department"), (organisms.ORGANISMS, organisms.FOLLOW_UPS, duty.PRACTICE)),
)  # fmt: skip
FIRST = ("rooms", "people", "respirators", "fit-tests", "organisms", "kit-templates", "shifts")
"""Where a new department begins, in this order: what later registers name comes before them."""
BOOKS: Mapping[str, Register] = MappingProxyType({book.name: book for _, books in GROUPS for book in books})


def book(name: str) -> Register:
    """The register of a name. Raises Unknown."""
    if name not in BOOKS:
        raise Unknown("There is no such register.", do="Go back to the list of registers.")
    return BOOKS[name]


def names_for(engine: Engine, register: Register) -> Names:
    """What the rows are called that a register's rows name; with fit tests also the kind of each respirator."""
    wanted = [BOOKS[name] for name in register.refs]
    if any(field.kind == "worn" for field in register.fields):
        wanted.append(kit.RESPIRATORS)
    names = reading.names(engine, wanted)
    if register is registers.FIT_TESTS:
        faces = {str(row["id"]): str(row["face"]) for row in reading.find(kit.RESPIRATORS, engine)}
        return Names({**names.of, FACES: faces}, names.by)
    return names


def starters(engine: Engine, register: Register) -> Sequence[Row]:
    """Rows that come with Doorside for a register: empty when it has none, or what they name is not there yet."""
    if register is kit.KIT_TEMPLATES:
        return [{"name": name, "tray": tray} for name, tray, _ in _lists()]
    if register is kit.KIT_ITEMS:
        ids = names_for(engine, register)
        return [
            {"template_id": found[0], "code": code, "name": item, "quantity": quantity, "mandatory": mandatory}
            for name, _, items in _lists()
            if (found := ids.ids(kit.KIT_TEMPLATES.name, name))
            for code, item, quantity, mandatory in items
        ]
    if register is organisms.FOLLOW_UPS:
        return organisms.common_follow_ups(names_for(engine, register))
    return register.starters() if register.starters else ()


def _lists() -> list[tuple[str, str, list[tuple[str, str, int, bool]]]]:
    """The kit lists of the built-in protocols: name, tray, and its items."""
    return [
        (
            f"{protocol.title}: {tray.title}",
            tray.code,
            [(item.code, item.name, item.quantity, item.mandatory) for item in tray.items],
        )
        for protocol in protocols()
        for tray in protocol.kit
    ]
