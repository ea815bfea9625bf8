"""Things and words that pass the door: trays, items, requests, messages, help."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from app.case.vocabulary.body import Body, Code, Number, Text, Texts


class KitStaged(Body):
    """A tray was laid out: what it has, lacks, and has past its date."""

    kind: ClassVar[str] = "kit.staged"
    tray: Literal["clean", "soiled", "door"]
    has: Texts = ()
    missing: Texts = ()
    expired: Texts = ()


class ItemMove(Body):
    """An item changed place; places are those of the design's words."""

    kind: ClassVar[str] = "item.move"
    item: Code
    from_: Code | None = Field(default=None, alias="from")
    to: Code
    quantity: Number | None = None


class CountDone(Body):
    """Soiled things were counted before anyone left."""

    kind: ClassVar[str] = "count.done"
    expected: Number | None = None
    found: Number | None = None
    lost: Texts = ()


class ReqNew(Body):
    """Something was asked for through the door. `from_` says what prompted it, if an offer did."""

    kind: ClassVar[str] = "req.new"
    q: Code
    item: Text
    from_: Text | None = Field(default=None, alias="from")
    urg: Literal["now", "soon"] = "soon"


class ReqAck(Body):
    """Somebody outside has it in hand."""

    kind: ClassVar[str] = "req.ack"
    q: Code
    p: Code | None = None
    via: Code | None = None


class ReqIn(Body):
    """It was handed in: for request q, or unasked with its own item."""

    kind: ClassVar[str] = "req.in"
    q: Code | None = None
    item: Text | None = None
    p: Code | None = None
    via: Code | None = None


class ReqGot(Body):
    """The room has it."""

    kind: ClassVar[str] = "req.got"
    q: Code


class ReqCancel(Body):
    """It is not wanted any more."""

    kind: ClassVar[str] = "req.cancel"
    q: Code
    why: Text | None = None


class Message(Body):
    """Words from one side of the door to the other."""

    kind: ClassVar[str] = "message"
    text: Text
    to: Code | None = None


class Note(Body):
    """Words for the record."""

    kind: ClassVar[str] = "note"
    text: Text


class HelpCall(Body):
    """Help was called."""

    kind: ClassVar[str] = "help.call"
    who: Text | None = None


class HelpArrive(Body):
    """Called help is here."""

    kind: ClassVar[str] = "help.arrive"
    p: Code | None = None


class Hold(Body):
    """Everything pauses."""

    kind: ClassVar[str] = "hold"
    why: Text | None = None


KINDS = (
    KitStaged, ItemMove, CountDone, ReqNew, ReqAck, ReqIn, ReqGot, ReqCancel, Message, Note, HelpCall, HelpArrive, Hold,
)  # fmt: skip
