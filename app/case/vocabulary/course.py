"""The course of a case as such: opened, planned, who does what, closed, signed; and corrections of its record."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import ConfigDict, Field, model_validator

from app.base.kinds import ROLES
from app.case.vocabulary.body import Body, Code, Number, Text, Texts, plain_text


class CaseOpen(Body):
    """A call was received and a case begun; weight_kg, pbw [kg], height_cm [cm], tx_min [min], o2_lpm [L/min]."""

    kind: ClassVar[str] = "case.open"
    ref: Code | None = None
    procedure: Code | None = None
    pathogen: Text | None = None
    precaution: Code | None = None
    urgency: Code | None = None
    age: Code | Number | None = None
    pbw: Number | None = None
    weight_kg: Number | None = None
    height_cm: Number | None = None
    sex: Code | None = None
    difficult: Code | None = None
    immune_needed: Code | None = None
    shift_end: Code | None = None
    tx_min: Number | None = None
    o2_lpm: Number | None = None


class CaseAbort(Body):
    """The procedure was stopped; doffing, exposures, counts and restock remain to be done."""

    kind: ClassVar[str] = "case.abort"
    why: Text | None = None


class CaseClose(Body):
    """The case was closed; a state, not a lock."""

    kind: ClassVar[str] = "case.close"
    ref: Code | None = None
    outcome: Text | None = None


class CaseSign(Body):
    """Somebody answered for the record as it stands."""

    kind: ClassVar[str] = "case.sign"
    statement: Text | None = None


class PlanSet(Body):
    """The airway plan was said aloud: which steps are settled, and each in words; tube and sga are sizes [mm, size]."""

    kind: ClassVar[str] = "plan.set"
    steps: Text | None = None
    A: Text | None = None
    B: Text | None = None
    C: Text | None = None
    D: Text | None = None
    tube: Number | Text | None = None
    sga: Number | Text | None = None
    ventilation: Text | None = None
    difficult: Code | None = None


class BriefDone(Body):
    """The team brief was held; secs [s]."""

    kind: ClassVar[str] = "brief.done"
    secs: Number | None = None
    route: Text | None = None
    accept: Text | None = None


class WeightSet(Body):
    """The patient's weight, kg [kg], and how it is known."""

    kind: ClassVar[str] = "weight.set"
    kg: Number
    how: Text | None = None


class CommsTest(Body):
    """The link through the door was tried."""

    kind: ClassVar[str] = "comms.test"
    channel: Text | None = None
    result: Code | None = None


class CommsFallback(Body):
    """Screens failed and another channel was used, perhaps for request q."""

    kind: ClassVar[str] = "comms.fallback"
    channel: Text | None = None
    q: Code | None = None


class RouteClear(Body):
    """The way of a transport is free: lift held, doors seen to."""

    kind: ClassVar[str] = "route.clear"
    lift: Text | None = None
    security: Text | None = None


class RoleAssign(Body):
    """Roles were given: each further field is a role's code with the person who takes it."""

    kind: ClassVar[str] = "role.assign"
    model_config = ConfigDict(extra="allow", frozen=True, strict=True)

    @model_validator(mode="before")
    @classmethod
    def _only_roles(cls, given: Any) -> Any:
        for name, value in given.items():
            if name == "note":
                continue
            if name not in ROLES:
                raise ValueError(f"{name} is no role; roles are {', '.join(ROLES)}")
            if not isinstance(value, str) or not 0 < len(value) <= 200:
                raise ValueError(f"{name} must name one person")
            plain_text(value)
        return given

    def roles(self) -> dict[str, str]:
        """Role code to person."""
        return {name: str(value) for name, value in (self.model_extra or {}).items()}


class RoleRelease(Body):
    """A role was laid down."""

    kind: ClassVar[str] = "role.release"
    role: Code
    p: Code | None = None
    why: Text | None = None


class RoleHandover(Body):
    """A role passed from one person to another."""

    kind: ClassVar[str] = "role.handover"
    role: Code
    from_: Code | None = Field(default=None, alias="from")
    to: Code


class HandoverStart(Body):
    """A handover of the patient began."""

    kind: ClassVar[str] = "handover.start"
    from_: Code | None = Field(default=None, alias="from")
    to: Code | None = None


class HandoverDone(Body):
    """The handover ended; items read back, as a number or a list."""

    kind: ClassVar[str] = "handover.done"
    items: Number | Texts | None = None


class TapFix(Body):
    """A correction of entry `ref`: a new time `at`, or new values as set_<field>. The first stays readable."""

    kind: ClassVar[str] = "tap.fix"
    model_config = ConfigDict(extra="allow", frozen=True, strict=True)
    ref: Code
    at: Code | None = None
    why: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _only_sets(cls, given: Any) -> Any:
        for name, value in given.items():
            if name in ("ref", "at", "why", "note"):
                continue
            if not name.startswith("set_") or name == "set_":
                raise ValueError(f"{name} is no field of a correction; new values are named set_<field>")
            plain = value is None or isinstance(value, str | int | float | bool)
            listed = isinstance(value, list | tuple) and all(isinstance(part, str) for part in value)
            if not plain and not listed:
                raise ValueError(f"{name} must be a text, a figure or a list of texts")
            for text in (name, value) if plain else (name, *value):
                if isinstance(text, str):
                    plain_text(text)
        return given

    def new_values(self) -> dict[str, Any]:
        """Field of the corrected entry to its new value."""
        return {name.removeprefix("set_"): value for name, value in (self.model_extra or {}).items()}


class TapVoid(Body):
    """Entry `ref` did not happen: a stray or double tap."""

    kind: ClassVar[str] = "tap.void"
    ref: Code
    why: Text | None = None


class NoticeAck(Body):
    """Somebody has seen a notice and, perhaps, says what is done about it."""

    kind: ClassVar[str] = "notice.ack"
    rule: Code
    subject: Text | None = None
    action: Text | None = None


class NetDown(Body):
    """A station lost the server."""

    kind: ClassVar[str] = "net.down"
    device: Text | None = None
    queued: Number | None = None
    skew_s: Number | None = None


class NetUp(Body):
    """A station is back, with so many taps that waited and a clock off by skew_s [s]."""

    kind: ClassVar[str] = "net.up"
    device: Text | None = None
    queued: Number | None = None
    skew_s: Number | None = None


class LocalDone(Body):
    """A milestone of the department's own."""

    kind: ClassVar[str] = "local.done"
    name: Code
    value: Number | Text | None = None


KINDS = (
    CaseOpen, CaseAbort, CaseClose, CaseSign, PlanSet, BriefDone, WeightSet, CommsTest, CommsFallback, RouteClear,
    RoleAssign, RoleRelease, RoleHandover, HandoverStart, HandoverDone,
    TapFix, TapVoid, NoticeAck, NetDown, NetUp, LocalDone,
)  # fmt: skip
