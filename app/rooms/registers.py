"""The registers of rooms and of the checks at their doors."""

from __future__ import annotations

from collections.abc import Iterable

from app.base.messages import N_
from app.base.register.spec import Field, Names, Problem, Register, Row
from app.rooms.tables import Room, RoomCheck

REFERENCES = {
    "corridor": N_("room minus corridor"),
    "lobby": N_("room minus lobby"),
    "lobby to corridor": N_("lobby minus corridor"),
}
"""What a pressure is measured against. US anterooms lie between two negative steps, UK lobbies are positive to both."""
STATES = {
    "ready": N_("ready"), "in use": N_("in use"), "clearing": N_("clearing"), "cleaning": N_("cleaning"),
    "out of order": N_("out of order"),
}  # fmt: skip


def _room(row: Row, names: Names) -> Iterable[Problem]:
    if row["ach"] is not None and row["ach_on"] is None:
        yield Problem(N_("A figure of air changes needs the day on which it was measured."), column="ach_on")
    if row["ach"] is None and row["ach_on"] is not None:
        yield Problem(N_("There is a day, but no figure of air changes."), column="ach")
    if row["limit_pa"] is not None and not row["reference"]:
        yield Problem(N_("A pressure without its reference point means nothing."), column="reference")


ROOMS = Register(
    name="rooms",
    title=N_("Rooms"),
    one=N_("Room"),
    about=N_("Where procedures are done. Without measured air changes there is no clearance time: none is assumed."),
    table=Room,
    fields=(
        Field("name", N_("Room"), required=True),
        Field("volume_m3", N_("Volume"), "number", "m³", 1, 2000),
        Field("ach", N_("Measured air changes"), "number", "/h", 0.1, 200),
        Field("ach_on", N_("Measured on"), "day", hint=N_("Needed with a figure of air changes.")),
        Field("clear", N_("Counts as clear when removed"), "number", "%", 50, 99.999, required=True, default=99.9),
        Field("mixing", N_("Mixing factor"), "number", "", 1, 10, hint=N_("1 ideal to 10 very poor.")),
        Field(
            "meant", N_("Meant to be"), "choice",
            choices={"negative": N_("negative"), "neutral": N_("neutral"), "positive": N_("positive")},
        ),
        Field("reference", N_("Pressure is"), "choice", choices=REFERENCES),
        Field(
            "limit_pa", N_("Limit of that difference"), "number", "Pa", -100, 100,
            hint=N_("With its sign: -2.5 is 2.5 Pa below. CDC 2003 asks for at least 2.5 Pa [M]."),
        ),
        Field("anteroom", N_("Anteroom"), hint=N_("Rooms with the same one share it.")),
        Field("neighbours", N_("Neighbours")),
        Field("state", N_("State"), "choice", choices=STATES, required=True, default="ready"),
        Field("released_by", N_("Released by")),
        Field("released_on", N_("Released on"), "day"),
        Field("active", N_("In use"), "yes", default=True),
    ),
    key=("name",),
    listed=("name", "ach", "ach_on", "reference", "limit_pa", "anteroom", "state"),
    order=("-active", "name"),
    check=_room,
)  # fmt: skip


def _check(row: Row, names: Names) -> Iterable[Problem]:
    if row["pressure_pa"] is None and row["direction"] is None:
        yield Problem(N_("Give the pressure, the direction, or both."), column="pressure_pa")
    if row["pressure_pa"] is not None and not row["reference"]:
        yield Problem(N_("A pressure without its reference point means nothing."), column="reference")


ROOM_CHECKS = Register(
    name="room-checks",
    title=N_("Room checks"),
    one=N_("Room check"),
    about=N_("Pressure and direction of the air at the shut door, each with who read it and when."),
    table=RoomCheck,
    fields=(
        Field("room_id", N_("Room"), "ref", ref="rooms", required=True),
        Field("checked_at", N_("Checked at"), "moment", required=True),
        Field("pressure_pa", N_("Pressure"), "number", "Pa", -200, 200, hint=N_("With its sign.")),
        Field("reference", N_("Pressure is"), "choice", choices=REFERENCES),
        Field(
            "direction", N_("Air at the door goes"), "choice",
            choices={"inwards": N_("inwards"), "outwards": N_("outwards"), "not clear": N_("not clear")},
        ),
        Field("door_shut", N_("Door shut"), "yes", default=True),
        Field("checked_by", N_("Checked by"), required=True),
        Field("note", N_("Note")),
    ),
    key=("room_id", "checked_at"),
    listed=("room_id", "checked_at", "pressure_pa", "reference", "direction", "checked_by"),
    order=("-checked_at",),
    check=_check,
)  # fmt: skip
