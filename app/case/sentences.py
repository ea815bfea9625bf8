"""A sentence for every kind of entry, for timelines and exports: message ids with named places; words are made later.

`sentence` says what happened; `details` lists the figures that came with it, each with its unit (`vocabulary.md`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from app.base.messages import N_
from app.case.happening import Happening

PEOPLE = frozenset({"p", "op", "checker", "subject", "lead", "owner", "runner"})
"""Fields that name people: whoever shows the sentence puts working names for ids."""
HANDED = frozenset({"from", "to"})
"""Fields that name people in a handover, and places or words elsewhere."""

UNITS: Mapping[str, str] = {
    "cuff": "cmH2O", "depth": "cm", "kpa": "kPa", "etco2": "kPa", "eto2": "%", "spo2": "%", "sbp": "mmHg",
    "dbp": "mmHg", "hr": "/min", "rr": "/min", "rate": "/min", "vt": "mL", "peep": "cmH2O", "plat": "cmH2O",
    "ppeak": "cmH2O",
    "fio2": "", "lpm": "L/min", "flow": "L/min", "litres": "L", "togo": "min", "minutes": "min", "secs": "s",
    "skew_s": "s", "pressure": "Pa", "ach": "/h", "temp": "degC", "kg": "kg", "pbw": "kg", "weight_kg": "kg",
    "height_cm": "cm", "tx_min": "min", "o2_lpm": "L/min", "size": "", "tube": "mm", "days": "d",
}  # fmt: skip
"""Field to the unit of its figure; empty where a figure has none, or one on some kinds only (`unit_of`)."""

_UNITS_OF_KIND: Mapping[tuple[str, str], str] = {
    ("tube.passed", "size"): "mm",
    ("fona.in", "size"): "mm",
    ("tr.tube_in", "size"): "mm",
    ("tr.trial", "from"): "%",
    ("tr.trial", "to"): "%",
}

SENTENCES: Mapping[str, str] = {
    "case.open": N_("Call received"),
    "case.abort": N_("Procedure stopped"),
    "case.close": N_("Case closed"),
    "case.sign": N_("Record signed"),
    "plan.set": N_("Airway plan stated"),
    "brief.done": N_("Team brief held"),
    "weight.set": N_("Weight set"),
    "comms.test": N_("Door link tested: %(result)s"),
    "comms.fallback": N_("Another channel used: %(channel)s"),
    "route.clear": N_("Route clear"),
    "role.assign": N_("Roles given: %(roles)s"),
    "role.release": N_("%(p)s lays down %(role)s"),
    "role.handover": N_("%(role)s passes to %(to)s"),
    "handover.start": N_("Handover begins"),
    "handover.done": N_("Handover done"),
    "kit.staged": N_("Tray staged: %(tray)s"),
    "item.move": N_("%(item)s goes to %(to)s"),
    "count.done": N_("Soiled count done"),
    "req.new": N_("Asked for: %(item)s"),
    "req.ack": N_("Request in hand"),
    "req.in": N_("Handed in"),
    "req.got": N_("Received in the room"),
    "req.cancel": N_("Request cancelled"),
    "message": N_("Message: %(text)s"),
    "note": N_("Note: %(text)s"),
    "help.call": N_("Help called"),
    "help.arrive": N_("Help arrived"),
    "hold": N_("Everything pauses"),
    "don.start": N_("%(p)s starts dressing"),
    "seal.check": N_("%(p)s seal check: %(result)s"),
    "check.start": N_("%(checker)s looks over %(subject)s"),
    "check.done": N_("%(checker)s checked %(subject)s: %(result)s"),
    "doff.start": N_("%(p)s starts undressing"),
    "doff.step": N_("%(p)s undressing step: %(step)s"),
    "doff.done": N_("%(p)s is clean"),
    "breach": N_("Breach: %(p)s"),
    "room.ready": N_("Room proven"),
    "room.in": N_("%(p)s goes in"),
    "room.out": N_("%(p)s comes out"),
    "door.open": N_("Door opened"),
    "door.shut": N_("Door shut"),
    "patient.out": N_("Patient leaves the room"),
    "clean.start": N_("Cleaning begins"),
    "room.turned": N_("Room ready again"),
    "monitor.on": N_("Monitoring on"),
    "preox.start": N_("Pre-oxygenation begins"),
    "preox.stop": N_("Pre-oxygenation interrupted"),
    "vitals": N_("Figures read"),
    "drug.given": N_("Drug given: %(class)s"),
    "scope.start": N_("Attempt %(n)s begins"),
    "scope.end": N_("Attempt %(n)s over: %(result)s"),
    "tube.passed": N_("Tube through the cords"),
    "tube.out": N_("Tube out"),
    "cuff.up": N_("Cuff up"),
    "cuff.check": N_("Cuff pressure read"),
    "cuff.down": N_("Cuff down"),
    "vent.first": N_("First breath"),
    "co2.yes": N_("CO2 comes back and stays"),
    "co2.no": N_("No sustained CO2"),
    "tube.secured": N_("Tube secured"),
    "vent.set": N_("Ventilator set"),
    "mask.vent": N_("Oxygen by mask: %(quality)s"),
    "sga.in": N_("Supraglottic airway in"),
    "sga.out": N_("Supraglottic airway out"),
    "rescue.declare": N_("Plan %(plan)s declared"),
    "fona.start": N_("Front-of-neck airway begun"),
    "fona.in": N_("Front-of-neck tube in"),
    "clamp.on": N_("Tube clamped"),
    "clamp.off": N_("Clamp off"),
    "circuit.off": N_("Circuit opened"),
    "circuit.on": N_("Circuit closed"),
    "vent.hold": N_("Ventilation held"),
    "vent.resume": N_("Ventilation goes on"),
    "agp.end": N_("Last aerosol-generating act over"),
    "ext.decide": N_("Ready to extubate"),
    "ext.step": N_("Extubation step: %(step)s"),
    "ext.out": N_("Tube taken out"),
    "o2.mask": N_("Oxygen mask on"),
    "o2.check": N_("Oxygen checked"),
    "o2.swap": N_("Cylinder changed"),
    "tx.depart": N_("Journey begins"),
    "tx.waypoint": N_("On the way: %(at)s"),
    "tx.arrive": N_("Arrived: %(at)s"),
    "tx.accept": N_("Taken over by %(by)s"),
    "tr.trial": N_("Apnoea trial"),
    "tr.incise": N_("Neck cut"),
    "tr.ett": N_("Oral tube moved"),
    "tr.open": N_("Trachea opened"),
    "tr.tube_in": N_("Tracheostomy tube in"),
    "br.in": N_("Bronchoscope in"),
    "br.out": N_("Bronchoscope out"),
    "exposure.open": N_("Exposure recorded: %(p)s"),
    "incident.new": N_("Incident drafted: %(type)s"),
    "debrief.start": N_("Debrief begins"),
    "debrief.point": N_("Debrief, to %(about)s: %(text)s"),
    "debrief.done": N_("Debrief done"),
    "action.new": N_("Action: %(text)s"),
    "action.done": N_("Action done"),
    "tap.fix": N_("Correction of an earlier entry"),
    "tap.void": N_("An earlier entry did not happen"),
    "notice.ack": N_("Notice %(rule)s seen"),
    "net.down": N_("Link lost: %(device)s"),
    "net.up": N_("Link back: %(device)s"),
    "local.done": N_("%(name)s"),
}
"""Kind to its sentence."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """message: a message id; params: what stands in its places; people: which of them are ids of people."""

    message: str
    params: dict[str, Any]
    people: frozenset[str]


@dataclass(frozen=True, slots=True)
class Detail:
    """One more thing that the entry said: field, value, unit; `person` when the value is an id of a person."""

    field: str
    value: Any
    unit: str
    person: bool = False


class _Said(dict[str, Any]):
    """What an entry said; what it left open reads as a dash, for unknown is not "no"."""

    def __missing__(self, key: str) -> str:
        return "–"


def _fields(happening: Happening) -> dict[str, Any]:
    return {} if happening.body is None else happening.body.model_dump(by_alias=True, exclude_none=True)


def _people(kind: str) -> frozenset[str]:
    return PEOPLE | HANDED if kind in ("role.handover", "handover.start") else PEOPLE


def unit_of(kind: str, field: str) -> str:
    """Unit of a figure: supraglottic airways have sizes without one, tubes are measured in mm (`vocabulary.md`)."""
    return _UNITS_OF_KIND.get((kind, field), UNITS.get(field, ""))


def _unit(happening: Happening, fields: Mapping[str, Any], name: str) -> str:
    """Unit of a value that was said. Words have none, and a dose has the unit that came with it."""
    if isinstance(fields[name], bool | str | list | tuple):
        return ""
    return str(fields.get("unit", "")) if name == "dose" else unit_of(happening.kind, name)


def sentence(happening: Happening) -> Sentence:
    """What happened, in one sentence. Kinds that this version does not know are named as they are."""
    message = SENTENCES.get(happening.kind)
    if message is None:
        return Sentence("%(kind)s", {"kind": happening.kind}, frozenset())
    fields = _fields(happening)
    if happening.kind == "role.assign":
        given = {role: p for role, p in fields.items() if role != "note"}
        return Sentence(message, {"roles": ", ".join(f"{role} {p}" for role, p in given.items())}, frozenset())
    people = _people(happening.kind)
    used = {name: value for name, value in fields.items() if f"%({name})s" in message}
    return Sentence(message, _Said(used), frozenset(people & used.keys()))


def details(happening: Happening) -> tuple[Detail, ...]:
    """Everything else the entry said: figures with units, lists as words, corrections with their reason."""
    fields, message = _fields(happening), SENTENCES.get(happening.kind, "")
    if happening.kind == "role.assign":
        fields = {name: value for name, value in fields.items() if name == "note"}
    people = _people(happening.kind)
    return tuple(
        Detail(
            name,
            ", ".join(value) if isinstance(value, list | tuple) else value,
            _unit(happening, fields, name),
            name.removeprefix("set_") in people,
        )
        for name, value in fields.items()
        if f"%({name})s" not in message and value not in ((), []) and not (name == "unit" and "dose" in fields)
    )
