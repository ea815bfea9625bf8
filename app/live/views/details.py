"""What can be said along with a tap in the room: figures by steppers, words and people by one touch. No keyboard.

Where a stepper stands is no reading: only what a finger has moved or touched goes into the entry. A choice that the
case itself knows (the operator, the next number) stands chosen, in sight, and can be changed by one touch.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from app.base.checks import plain
from app.base.kinds import ROLES
from app.base.messages import N_
from app.bedside.formulary import Formulary, shipped
from app.case.happening import Happening
from app.case.sentences import unit_of
from app.case.state import State
from app.live.now import CaseNow
from app.live.views.child_starts import child_start
from app.live.views.fields import ask
from app.live.views.taps import stored_body
from app.protocol.values import Milestone


@dataclass(frozen=True, slots=True)
class Stepper:
    """A figure: where it starts, its small and its large step (0: none), and how far it goes.

    said_unit   unit that goes into the entry beside the figure; empty where the field has its unit by itself
    only_for    words that it is for, where others of the same field have another unit
    """

    name: str
    label: str
    unit: str
    start: str
    fine: float
    coarse: float
    least: float
    most: float
    said_unit: str = ""
    only_for: tuple[str, ...] = ()

    @property
    def moves(self) -> tuple[tuple[str, str], ...]:
        """The buttons from left to right, as (what is added, what the button says)."""
        sizes = [-self.coarse, -self.fine, self.fine, self.coarse]
        return tuple((plain(by), f"{'−' if by < 0 else '+'}{plain(abs(by))}") for by in sizes if by)


@dataclass(frozen=True, slots=True)
class Choice:
    """A word or a person, one of a few. options: (what is stored, what is shown); given: chosen as it stands.

    listed   the entry holds a list of such words
    """

    name: str
    label: str
    options: tuple[tuple[str, str], ...]
    given: str = ""
    listed: bool = False


@dataclass(frozen=True, slots=True)
class Details:
    """What may be said along with one tap."""

    steppers: tuple[Stepper, ...] = ()
    choices: tuple[Choice, ...] = ()

    @property
    def given(self) -> dict[str, Any]:
        """What the tap says as it stands."""
        return {choice.name: choice.given for choice in self.choices if choice.given}


NO_DETAILS = Details()
_FIGURES: Mapping[tuple[str, str], tuple[float, float, float, float, float]] = {
    ("tube.passed", "size"): (7.5, 0.5, 0, 2, 10),
    ("tube.passed", "depth"): (22, 1, 0, 5, 35),
    ("tube.secured", "depth"): (22, 1, 0, 5, 35),
    ("tr.tube_in", "size"): (8, 0.5, 0, 2, 10),
    ("fona.in", "size"): (6, 0.5, 0, 2, 10),
    ("sga.in", "size"): (4, 0.5, 0, 1, 5),
    ("cuff.up", "cuff"): (25, 1, 0, 0, 120),
    ("cuff.check", "cuff"): (25, 1, 5, 0, 120),
    ("co2.yes", "breaths"): (7, 1, 0, 0, 60),
    ("co2.yes", "kpa"): (5, 0.1, 1, 0, 20),
    ("vent.set", "vt"): (400, 10, 100, 0, 1500),
    ("vent.set", "rate"): (16, 1, 5, 0, 60),
    ("vent.set", "plat"): (20, 1, 5, 0, 80),
    ("vent.set", "ppeak"): (25, 1, 5, 0, 100),
    ("vent.set", "peep"): (5, 1, 0, 0, 40),
    ("vent.set", "fio2"): (1, 0.1, 0, 0.21, 1),
    ("count.done", "expected"): (5, 1, 5, 0, 99),
    ("count.done", "found"): (5, 1, 5, 0, 99),
    ("handover.done", "items"): (12, 1, 0, 0, 99),
    ("o2.mask", "lpm"): (6, 1, 5, 0, 60),
    ("tr.trial", "from"): (98, 1, 5, 0, 100),
    ("tr.trial", "to"): (95, 1, 5, 0, 100),
    ("tr.trial", "secs"): (60, 10, 60, 0, 900),
    ("o2.check", "litres"): (600, 50, 500, 0, 12000),
    ("o2.check", "togo"): (20, 1, 10, 0, 600),
    ("o2.swap", "litres"): (600, 50, 500, 0, 12000),
    ("tx.waypoint", "togo"): (10, 1, 10, 0, 600),
    ("br.out", "samples"): (1, 1, 0, 0, 20),
    ("vitals", "spo2"): (98, 1, 5, 0, 100),
    ("vitals", "sbp"): (120, 1, 10, 0, 300),
    ("vitals", "hr"): (90, 1, 10, 0, 300),
    ("vitals", "eto2"): (85, 1, 5, 0, 100),
    ("vitals", "etco2"): (5, 0.1, 1, 0, 20),
}
"""(kind, field) -> where the stepper starts when nothing is known, small step, large step, least, most; in the units of
the vocabulary. Common practice, no source: a place for a finger to start from, never a figure that is recorded."""

_WORDS: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("comms.test", "channel"): (N_("screen+voice"), N_("screen"), N_("voice"), N_("radio")),
    ("preox.start", "device"): (N_("mask+filter"), N_("mask+filter+PEEP valve"), N_("high-flow nasal oxygen")),
    ("scope.start", "device"): (N_("video"), N_("hyperangulated"), N_("direct"), N_("flexible scope")),
    ("vent.first", "via"): (N_("ventilator"), N_("bag")),
    ("mask.vent", "quality"): (N_("good"), N_("poor"), N_("none")),
    ("help.call", "who"): ("SO", N_("second team"), N_("surgeon"), N_("arrest team")),
    ("agp.end", "last"): (N_("closed suction"), N_("coughing settled"), N_("circuit closed"), N_("bronchoscopy")),
    ("ext.out", "cuff"): (N_("deflated"),),
    ("o2.mask", "device"): (
        N_("face mask over surgical mask"), N_("nasal oxygen under surgical mask"), N_("high-flow nasal oxygen"),
    ),
    ("count.done", "lost"): (N_("wire"), N_("needle"), N_("blade"), N_("scalpel")),
    ("handover.start", "to"): ("ICU", N_("ward"), N_("theatre")),
    ("tr.trial", "result"): (N_("go"), N_("postpone")),
    ("tr.open", "how"): (N_("surgical"), N_("dilated")),
    ("br.in", "scope"): (N_("single-use"), N_("reusable")),
    ("vent.hold", "why"): (N_("changeover"), N_("trachea opened")),
}  # fmt: skip
"""(kind, field) -> what is mostly said, as it is stored; other words are said at the desk."""
_NAMES = frozenset({("scope.start", "op"), ("fona.start", "op"), ("tr.incise", "p"), ("handover.start", "from")})


def details(case: CaseNow, milestone: Milestone) -> Details:
    """What may be said along with a milestone's tap, from what its protocol asks for."""
    asked = [name for name in milestone.ask if name not in milestone.body]
    kind = milestone.kind
    steppers = [stepper(case.state, kind, name) for name in asked if (kind, name) in _FIGURES]
    choices = [found for name in asked if (found := _choice(case, kind, name)) is not None]
    if kind == "drug.given":
        return _drug(case.state, str(milestone.body.get("class", "")))
    return Details(tuple(steppers), tuple(choices))


_DOSE_STEPS: Mapping[str, tuple[float, float]] = {"mg": (1, 10), "micrograms": (5, 50)}
"""Unit -> small and large step. Common practice, no source: the least doses of the list are a small step or a few."""


def _drug(state: State, group: str) -> Details:
    """Which drug and how much was given, once it was: names of the department's list; the amount starts at nothing.

    No amount is suggested here (job map, Boundaries): those stand on the worksheet. Each drug is given in the unit of
    the list; a group with two units has a stepper for each, which names its drugs.
    """
    drugs = [drug for drug in _formulary().drugs if drug.label == group]
    if not drugs:
        return NO_DETAILS
    of_unit: dict[str, list[str]] = {}
    for drug in drugs:
        for unit in dict.fromkeys(dose.amount_unit for dose in drug.doses):
            of_unit.setdefault(unit, []).append(drug.name)
    steppers = tuple(
        _dose(state, group, unit, tuple(names) if len(of_unit) > 1 else ()) for unit, names in of_unit.items()
    )
    return Details(steppers, (Choice("drug", N_("drug"), tuple((drug.name, drug.name) for drug in drugs)),))


def _dose(state: State, group: str, unit: str, only_for: tuple[str, ...]) -> Stepper:
    """It starts at what was last given of the group in this unit."""
    given = [body for h in state.all("drug.given") if (body := stored_body(h)).get("class") == group]
    amounts = (body.get("dose") for body in reversed(given) if body.get("unit", unit) == unit)
    last = next((dose for dose in amounts if isinstance(dose, int | float)), 0)
    fine, coarse = _DOSE_STEPS[unit]
    return Stepper("dose", N_("dose given"), unit, plain(last), fine, coarse, 0, 1000, unit, only_for)


@cache
def _formulary() -> Formulary:
    return shipped()


def stepper(state: State, kind: str, name: str) -> Stepper:
    """The stepper of a figure; it starts at what the case says of it last."""
    usual, fine, coarse, least, most = _FIGURES[kind, name]
    own = _START.get((kind, name))
    known = _last(state, kind, name) if own is None else own(state)
    if known is None:
        known = child_start(state, kind, name)
    start = min(most, max(least, usual if known is None else known))
    return Stepper(name, ask(kind, name).label, unit_of(kind, name), plain(start), fine, coarse, least, most)


def _last(state: State, kind: str, name: str) -> float | None:
    def said(h: Happening) -> float | None:
        value = stored_body(h).get(name)
        return float(value) if isinstance(value, int | float) else None

    found = state.by_kind.get(kind)
    return None if found is None else found.newest(f"last {name}", said)


def _planned_tube(state: State) -> float | None:
    """The size that the plan names: as its own figure, or in the words of plan A."""
    if isinstance(state.plan.tube, int | float):
        return float(state.plan.tube)
    said = re.search(r"\b(\d{1,2}(?:\.5|\.0))\b", str(state.plan.words.get("A", "")))
    return float(said[1]) if said else None


def _planned_sga(state: State) -> float | None:
    if isinstance(state.plan.sga, int | float):
        return float(state.plan.sga)
    said = re.search(r"\bsize (\d(?:\.5)?)\b", str(state.plan.words.get("B", "")))
    return float(said[1]) if said else None


def _counted(state: State) -> float | None:
    """What was last expected to be found; a lost item is a difference that somebody says, not a start."""
    return _last(state, "count.done", "expected")


_START: Mapping[tuple[str, str], Callable[[State], float | None]] = {
    ("tube.passed", "size"): _planned_tube,
    ("tube.secured", "depth"): lambda state: _last(state, "tube.passed", "depth"),
    ("sga.in", "size"): _planned_sga,
    ("count.done", "found"): _counted,
    ("cuff.check", "cuff"): lambda state: _last(state, "cuff.check", "cuff") or _last(state, "cuff.up", "cuff"),
    ("tr.trial", "from"): lambda state: _last(state, "vitals", "spo2"),
}


def _choice(case: CaseNow, kind: str, name: str) -> Choice | None:
    label = ask(kind, name).label
    if (kind, name) in _NAMES:
        return _who(case, kind, name, label)
    words = _WORDS.get((kind, name))
    if words is None:
        return None
    found = Choice(name, label, tuple((word, ROLES.get(word, word)) for word in words), listed=name == "lost")
    if (kind, name) == ("scope.start", "device") and not case.state.attempts:
        plan = str(case.state.plan.words.get("A", ""))
        return replace(found, given=next((word for word in words if word in plan.casefold()), ""))
    return replace(found, given="ICU") if (kind, name) == ("handover.start", "to") else found


def _who(case: CaseNow, kind: str, name: str, label: str) -> Choice | None:
    """The people in the room; the one whose turn it is stands chosen."""
    here = case.state.inside
    options = tuple((p, case.person(p).name) for p in here)
    given = next((p for p in _turn(case, kind) if p in here), "")
    return Choice(name, label, options, given) if options else None


def _turn(case: CaseNow, kind: str) -> list[str]:
    """Whose turn it is, the likeliest first: after a failed attempt the second operator, once in the room."""
    state = case.state
    tried = [attempt.operator for attempt in state.attempts if attempt.operator][-1:]
    order = {
        "scope.start": ("SO", "AO") if tried else ("AO",),
        "handover.start": ("TL",),
        "tr.incise": ("FN",),
        "fona.start": ("FN",),
    }[kind]
    holders = [p for role in order for p in state.roles.get(role, ())]
    return [*holders, *tried] if kind != "fona.start" else [*holders, *tried, *state.roles.get("AO", ())]
