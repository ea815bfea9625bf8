"""What only some procedures have: extubation, transport, tracheostomy, bronchoscopy; and what comes after a case."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from app.case.vocabulary.body import Body, Code, Number, Text, Texts


class ExtDecide(Body):
    """The tube may come out: what was found; fio2 [fraction]."""

    kind: ClassVar[str] = "ext.decide"
    awake: Text | None = None
    cough: Text | None = None
    cuff_leak: Text | None = None
    fio2: Number | None = None


class ExtStep(Body):
    """One step towards or after taking the tube out."""

    kind: ClassVar[str] = "ext.step"
    step: Text


class ExtOut(Body):
    """The tube came out."""

    kind: ClassVar[str] = "ext.out"
    cuff: Number | Text | None = None


class O2Mask(Body):
    """Oxygen by mask is on, lpm [L/min]."""

    kind: ClassVar[str] = "o2.mask"
    device: Text | None = None
    lpm: Number | None = None


class O2Check(Body):
    """Oxygen for the way: litres [L] on hand, flow [L/min] or `felt` at the outlet, minutes to go [min]."""

    kind: ClassVar[str] = "o2.check"
    litres: Number | None = None
    flow: Number | Text | None = None
    togo: Number | None = None


class O2Swap(Body):
    """Another cylinder was connected: litres [L]; flow as in o2.check."""

    kind: ClassVar[str] = "o2.swap"
    litres: Number | None = None
    flow: Number | Text | None = None


class TxDepart(Body):
    """The patient's journey began."""

    kind: ClassVar[str] = "tx.depart"
    sealed: Text | None = None
    filter: Text | None = None


class TxWaypoint(Body):
    """The journey passed, or waits at, a place; togo [min] if the time to go was said again."""

    kind: ClassVar[str] = "tx.waypoint"
    at: Text | None = None
    togo: Number | None = None


class TxArrive(Body):
    """The journey's end was reached."""

    kind: ClassVar[str] = "tx.arrive"
    at: Text | None = None


class TxAccept(Body):
    """Somebody there took the patient over."""

    kind: ClassVar[str] = "tx.accept"
    by: Text | None = None


class TrTrial(Body):
    """Apnoea trial: SpO2 from, to [%], over secs [s]."""

    kind: ClassVar[str] = "tr.trial"
    from_: Number | None = Field(default=None, alias="from")
    to: Number | None = None
    secs: Number | None = None
    result: Text | None = None


class TrIncise(Body):
    """The neck was cut."""

    kind: ClassVar[str] = "tr.incise"
    p: Code | None = None


class TrEtt(Body):
    """The oral tube was moved."""

    kind: ClassVar[str] = "tr.ett"
    step: Text | None = None


class TrOpen(Body):
    """The trachea was opened."""

    kind: ClassVar[str] = "tr.open"
    how: Text | None = None


class TrTubeIn(Body):
    """The tracheostomy tube is in: size [mm]."""

    kind: ClassVar[str] = "tr.tube_in"
    size: Number | Text | None = None


class BrIn(Body):
    """The bronchoscope went in."""

    kind: ClassVar[str] = "br.in"
    scope: Text | None = None


class BrOut(Body):
    """The bronchoscope came out, with samples."""

    kind: ClassVar[str] = "br.out"
    samples: Number | Text | None = None


class ExposureOpen(Body):
    """Somebody's exposure is followed up: minutes in the room [min], for days [d]."""

    kind: ClassVar[str] = "exposure.open"
    p: Code
    minutes: Number | None = None
    reason: Text | None = None
    pathogen: Text | None = None
    days: Number | None = None
    follow: Text | None = None


class IncidentNew(Body):
    """An incident is drafted; `from` says what prompted it."""

    kind: ClassVar[str] = "incident.new"
    type: Text | None = None
    from_: Text | None = Field(default=None, alias="from")


class DebriefStart(Body):
    """The debrief began."""

    kind: ClassVar[str] = "debrief.start"
    lead: Code | None = None


class DebriefPoint(Body):
    """Something to keep or to change."""

    kind: ClassVar[str] = "debrief.point"
    about: Literal["keep", "change"]
    text: Text


class DebriefDone(Body):
    """The debrief ended; actions agreed, as a number or a list."""

    kind: ClassVar[str] = "debrief.done"
    actions: Number | Texts | None = None


class ActionNew(Body):
    """Something will be done, by whom, by when."""

    kind: ClassVar[str] = "action.new"
    text: Text
    owner: Code | None = None
    due: Code | None = None


class ActionDone(Body):
    """It is done."""

    kind: ClassVar[str] = "action.done"
    text: Text | None = None


KINDS = (
    ExtDecide, ExtStep, ExtOut, O2Mask, O2Check, O2Swap, TxDepart, TxWaypoint, TxArrive, TxAccept,
    TrTrial, TrIncise, TrEtt, TrOpen, TrTubeIn, BrIn, BrOut,
    ExposureOpen, IncidentNew, DebriefStart, DebriefPoint, DebriefDone, ActionNew, ActionDone,
)  # fmt: skip
