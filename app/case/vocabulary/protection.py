"""Protective equipment and the door: dressing, checks, undressing, breaches, who is in the room."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from app.case.vocabulary.body import Body, Code, Number, Text


class DonStart(Body):
    """Somebody begins to dress: in which ensemble, with which respirator."""

    kind: ClassVar[str] = "don.start"
    p: Code
    ens: Code | None = None
    resp: Code | None = None
    why: Text | None = None


class SealCheck(Body):
    """The wearer tried the seal of the respirator."""

    kind: ClassVar[str] = "seal.check"
    p: Code
    result: Literal["pass", "fail"]


class CheckStart(Body):
    """A partner begins to look somebody over, dressing (`don`) or undressing (`doff`)."""

    kind: ClassVar[str] = "check.start"
    phase: Literal["don", "doff"]
    checker: Code
    subject: Code


class CheckDone(Body):
    """The partner's verdict."""

    kind: ClassVar[str] = "check.done"
    phase: Literal["don", "doff"]
    checker: Code
    subject: Code
    result: Literal["pass", "fail"] | None = None
    fault: Text | None = None


class DoffStart(Body):
    """Somebody begins to undress."""

    kind: ClassVar[str] = "doff.start"
    p: Code
    checker: Code | None = None


class DoffStep(Body):
    """One step of undressing; `order` wrong when it came out of turn."""

    kind: ClassVar[str] = "doff.step"
    p: Code
    step: Text
    order: Code | None = None


class DoffDone(Body):
    """Somebody is clean."""

    kind: ClassVar[str] = "doff.done"
    p: Code
    checker: Code | None = None


class Breach(Body):
    """Protection failed on somebody; no reason is asked."""

    kind: ClassVar[str] = "breach"
    p: Code
    type: Text | None = None
    grade: Code | None = None


class RoomReady(Body):
    """The room was proven: pressure, room minus lobby or corridor [Pa], and air changes [1/h]."""

    kind: ClassVar[str] = "room.ready"
    pressure: Number | None = None
    ach: Number | None = None


class RoomIn(Body):
    """Somebody went in; `visit` is `kind` in the body: staff when absent, otherwise visitor, porter, cleaner …"""

    kind: ClassVar[str] = "room.in"
    p: Code
    visit: Code | None = Field(default=None, alias="kind")
    resp: Code | None = None
    who: Text | None = None


class RoomOut(Body):
    """Somebody came out; tx=yes when walking with a transported patient."""

    kind: ClassVar[str] = "room.out"
    p: Code
    tx: Code | None = None


class DoorOpen(Body):
    """A door was opened: room door when `which` is absent."""

    kind: ClassVar[str] = "door.open"
    which: Code | None = None
    why: Text | None = None


class DoorShut(Body):
    """A door was shut."""

    kind: ClassVar[str] = "door.shut"
    which: Code | None = None
    why: Text | None = None


class PatientOut(Body):
    """The patient left the room."""

    kind: ClassVar[str] = "patient.out"
    from_: Text | None = Field(default=None, alias="from")
    to: Text | None = None


class CleanStart(Body):
    """Cleaning of the room began."""

    kind: ClassVar[str] = "clean.start"
    room: Text | None = None


class RoomTurned(Body):
    """The room can be used again."""

    kind: ClassVar[str] = "room.turned"
    room: Text | None = None


KINDS = (
    DonStart, SealCheck, CheckStart, CheckDone, DoffStart, DoffStep, DoffDone, Breach,
    RoomReady, RoomIn, RoomOut, DoorOpen, DoorShut, PatientOut, CleanStart, RoomTurned,
)  # fmt: skip
